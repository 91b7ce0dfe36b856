package page

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"hueward/colorimg/tag"
	"hueward/report/compose"
	"hueward/report/print"
)

// print offers the sheets.
func (q *request) print() error {
	return q.render("print", "Print", struct {
		Grids  []print.Grid
		Sheets []string
		Plants string
	}{print.Grids, tag.SheetNames(), q.r.FormValue("plants")})
}

// sheet makes one as PDF.
func (q *request) sheet() error {
	what, ok := strings.CutSuffix(q.r.PathValue("sheet"), ".pdf")
	sizes := map[string][2]float64{"tags": {85, 32}, "heads": {80, 55}, "packets": {95, 65}, "photo-sheet": {}}
	size, known := sizes[what]
	if !ok || !known {
		return notFound("There is no such sheet.")
	}
	names := strings.FieldsFunc(q.r.FormValue("names"), func(r rune) bool { return r == ',' || r == ' ' || r == ';' || r == '\n' || r == '\r' })
	if len(names) > 500 {
		return wrongf("At most 500 labels are printed at once.")
	}
	var out bytes.Buffer
	if what == "photo-sheet" {
		if err := q.photoSheet(&out, names); err != nil {
			return err
		}
		return q.attach("application/pdf", what+".pdf", out.Bytes())
	}
	paper := q.r.FormValue("paper")
	if paper == "" {
		paper = "a4"
	}
	var grid print.Grid
	var err error
	if g := q.r.FormValue("grid"); g != "" {
		grid, err = print.ParseGrid(g, paper)
	} else {
		grid, err = print.Plain(paper, size[0], size[1])
	}
	if err != nil {
		return err
	}
	skip, _ := strconv.Atoi(q.r.FormValue("skip"))
	if skip < 0 || skip > 200 {
		return wrongf("%d labels used already are more than a sheet has.", skip)
	}
	opt := print.LabelOptions{Grid: grid, Skip: skip, Created: q.opt.Now()}
	n := 0
	switch what {
	case "tags":
		list, e := compose.PlantTags(q.ctx(), q.b, names, "", q.opt.Now())
		if n, err = len(list), e; err == nil && n > 0 {
			err = print.PlantTags(&out, opt, list)
		}
	case "heads":
		list, e := compose.HeadLabels(q.ctx(), q.b, names, "")
		if n, err = len(list), e; err == nil && n > 0 {
			err = print.HeadLabels(&out, opt, list)
		}
	case "packets":
		list, e := compose.PacketLabels(q.ctx(), q.b, names, "")
		if n, err = len(list), e; err == nil && n > 0 {
			err = print.PacketLabels(&out, opt, list)
		}
	}
	if err != nil {
		return err
	}
	if n == 0 {
		return notFound("There is nothing to print yet.")
	}
	return q.attach("application/pdf", what+".pdf", out.Bytes())
}

func (q *request) photoSheet(out *bytes.Buffer, names []string) error {
	sheet := q.r.FormValue("sheet")
	if !slices.Contains(tag.SheetNames(), sheet) {
		return wrongf("A photo sheet is %s.", strings.Join(tag.SheetNames(), " or "))
	}
	opt := &print.SheetOptions{Sheet: sheet, Created: q.opt.Now()}
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
