package page

import (
	"bytes"
	"cmp"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"hueward/colorimg/tag"
	"hueward/report/compose"
	"hueward/report/page/enter"
	"hueward/report/page/refill"
	"hueward/report/print"
	"hueward/report/words"
)

// print offers the sheets.
func (q *request) print() error {
	return q.render("print", "Print", struct {
		Grids  []print.Grid
		Sheets []string
		Plants string
	}{print.Grids, tag.SheetNames(), q.r.FormValue("plants")})
}

// sheet makes one as PDF. What it cannot be made of stays in the form that asked for it.
func (q *request) sheet() error {
	what, ok := strings.CutSuffix(q.r.PathValue("sheet"), ".pdf")
	if !ok || !slices.Contains([]string{"tags", "heads", "packets", "photo-sheet"}, what) {
		return notFound("There is no such sheet.")
	}
	var out bytes.Buffer
	err := q.makeSheet(&out, what)
	if err != nil && statusOf(err) < http.StatusInternalServerError {
		q.device.said.Store(&said{Text: words.Sentence(err.Error()), Wrong: true})
		q.device.typed.Store(&refill.Typed{Method: http.MethodGet, Path: q.r.URL.Path, Values: q.r.Form})
		return q.to("/print")
	}
	if err != nil {
		return err
	}
	return q.attach("application/pdf", what+".pdf", out.Bytes())
}

func (q *request) makeSheet(out *bytes.Buffer, what string) error {
	names := enter.Names(q.r.FormValue("names"))
	if len(names) > 500 {
		return wrongf("At most 500 labels are printed at once.")
	}
	if what == "photo-sheet" {
		return q.photoSheet(out, names)
	}
	grid, err := compose.LabelGrid(what, q.r.FormValue("grid"), cmp.Or(q.r.FormValue("paper"), "a4"))
	if err != nil {
		return err
	}
	skip, _ := strconv.Atoi(q.r.FormValue("skip"))
	if skip < 0 || skip > 200 {
		return wrongf("A sheet has fewer labels than the %d already used.", skip)
	}
	list, err := compose.LabelsOf(q.ctx(), q.b, what, names, "", print.LabelOptions{Grid: grid, Skip: skip, Created: q.opt.Now()})
	switch {
	case err != nil:
		return err
	case list.N == 0:
		return notFound("There is nothing to print yet.")
	}
	return list.Write(out)
}

func (q *request) photoSheet(out *bytes.Buffer, names []string) error {
	sheet := q.r.FormValue("sheet")
	if !slices.Contains(tag.SheetNames(), sheet) {
		return wrongf("A photo sheet is %s.", strings.Join(tag.SheetNames(), " or "))
	}
	opt := print.SheetOptions{Sheet: sheet, Created: q.opt.Now()}
	if len(names) > 0 {
		ids, err := q.b.Which(q.ctx(), names)
		if err != nil {
			return err
		}
		for _, id := range ids {
			p, err := q.b.Plant(q.ctx(), id)
			if err != nil {
				return err
			}
			opt.Plants = append(opt.Plants, print.SheetPlant{ID: p.ID, Note: strings.Trim(p.Line+", "+p.Season, ", ")})
		}
	}
	return print.PhotoSheets(out, opt)
}
