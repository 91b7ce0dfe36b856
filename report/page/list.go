package page

import (
	"cmp"
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"hueward/report"
	"hueward/report/page/find"
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// plantRow is one plant of the list.
type plantRow struct {
	report.Plant
	Status   book.Status
	Measured bool
	Why      string // of one without a reading
	ByBred   bool   // the list is in the order of what plants pass on
	Drop     book.Status
}

// Way is the direction from the target, in few words.
func (p *plantRow) Way() string { return strings.TrimSuffix(p.Than(), " than the target") }

// other is a cross or a packet that is found by its name among the plants.
type other struct{ Name, Link, Words string }

// The ways to sort and to filter the list, and what they are called.
var (
	plantSorts = []choice{{"rank", "Nearest first"}, {"id", "By name"}, {"light", "Lightest first"}, {"red", "Reddest first"},
		{"yellow", "Yellowest first"}}
	plantShows = []choice{{"", "All"}, {"keep", "Advised to keep"}, {"kept", "Kept and in reserve"}, {"open", "Still growing"},
		{"unmeasured", "Without a reading"}}
)

// choice is one value of a select, and its words.
type choice struct{ Value, Words string }

// plants lists the season's plants of the line.
func (q *request) plants() error {
	line, season := q.lineNow()
	d := struct {
		*rowList
		Sorts, Shows    []choice
		Sort, Show, Has string
		Others          []other
	}{rowList: &rowList{}, Sorts: plantSorts, Shows: plantShows, Sort: q.r.FormValue("sort"), Show: q.r.FormValue("show"),
		Has: strings.TrimSpace(q.r.FormValue("has"))}
	if line == nil {
		return q.render("plants", "Plants", d)
	}
	d.Has = d.Has[:min(len(d.Has), 60)]
	was := *q.seen.Load()
	was.lookedAt = lookedAt{line.Name, season}
	q.seen.Store(&was)
	var err error
	if d.rowList, err = q.list(q.ctx(), line.Name, season, d.Sort, d.Show, d.Has); err != nil {
		return err
	}
	if d.Others, err = q.others(d.Has); err != nil {
		return err
	}
	return q.render("plants", "Plants", d)
}

// others are the crosses and packets of the book that have what was typed in their names, the newest first.
func (q *request) others(has string) ([]other, error) {
	all, err := remember(q.ctx(), q.Server, "others", func(ctx context.Context) (out []other, err error) {
		words := map[string]string{}
		for _, c := range slices.Backward(ask.Of(ctx, &err, q.Server.b.Crosses, "")) {
			words[c.Name] = c.Words()
			out = append(out, other{c.Name, "/crosses?season=" + url.QueryEscape(c.Season) + "#" + url.PathEscape(c.Name), c.Words()})
		}
		for _, p := range slices.Backward(ask.Of(ctx, &err, q.Server.b.Packets, "")) {
			out = append(out, other{p.Name, "/packets#" + url.PathEscape(p.Name), cmp.Or(words[p.Cross], p.FounderGroup)})
		}
		return out, err
	})
	if err != nil || has == "" {
		return all, err
	}
	return slices.DeleteFunc(slices.Clone(all), func(o other) bool { return !find.Has(o.Name, has) }), nil
}

// known lists the names of plants, those of the newest season first, for a field in which one is typed.
func (q *request) known() error {
	text, err := remember(q.ctx(), q.Server, "known", func(ctx context.Context) ([]byte, error) {
		plants, err := q.Server.b.Plants(ctx, book.PlantFilter{})
		if err != nil {
			return nil, err
		}
		slices.SortStableFunc(plants, func(a, b book.Plant) int { return selection.CompareIDs(b.Season, a.Season) })
		var out []byte
		for _, p := range plants[:min(len(plants), 3000)] {
			out = append(append(out, p.ID...), '\n')
		}
		return out, nil
	})
	if err != nil {
		return err
	}
	return q.send(http.StatusOK, "text/plain; charset=utf-8", text)
}

// list is the list of a line's plants in a season; empty: the newest with readings.
func (s *Server) list(ctx context.Context, line, season, sort, show, has string) (*rowList, error) {
	return remember(ctx, s, fmt.Sprintf("rows %q %q %q %q %q", line, season, sort, show, has), func(ctx context.Context) (*rowList, error) {
		return s.plantRows(ctx, line, season, sort, show, has)
	})
}

// rowList is the list as it is shown, which holds nothing of the device that asked.
type rowList struct {
	Season string
	Rows   template.HTML
	N      int
	Target *report.Target
	Hint   template.HTML // why there is no ranking, and what to do
	Words  []string
	ByBred bool
}

func (s *Server) plantRows(ctx context.Context, line, season, sort, show, has string) (*rowList, error) {
	out := &rowList{}
	drop, err := s.dropOf(ctx, line)
	if err != nil {
		return nil, err
	}
	status := map[string]book.Status{}
	var rows []plantRow
	r, err := s.ranking(ctx, line, season)
	if err == nil {
		season = r.Season.Season
	} else {
		out.Hint = hintOf(err)
		season, err = garden.SeasonWithReadings(ctx, s.b, line, season)
	}
	// Their status may have changed since they were ranked.
	plants := ask.Of(ctx, &err, s.b.Plants, book.PlantFilter{Line: line, Season: season})
	if err != nil {
		return nil, err
	}
	for _, p := range plants {
		status[p.ID] = p.Status
		if r == nil {
			rows = append(rows, plantRow{Plant: report.Plant{ID: p.ID}, Status: p.Status, Why: words.Count(p.Photos, "photo"), Drop: drop})
		}
	}
	if r != nil {
		out.Target, out.ByBred, out.Words = &r.Report.Target, r.Report.ByOffspring, r.Report.Warnings
		if r.Report.Sure != "" {
			out.Words = append([]string{r.Report.Sure}, out.Words...)
		}
		for _, p := range r.Report.Plants {
			rows = append(rows, plantRow{Plant: p, Status: status[p.ID], Measured: true, ByBred: out.ByBred, Drop: drop})
		}
		for _, u := range r.Report.Unmeasured {
			rows = append(rows, plantRow{Plant: report.Plant{ID: u.ID, Rank: math.MaxInt32}, Status: status[u.ID], Why: u.Why, Drop: drop})
		}
	}
	rows = slices.DeleteFunc(rows, func(p plantRow) bool {
		if has != "" && !find.Has(p.ID, has) {
			return true
		}
		switch show {
		case "keep":
			return p.Advice != report.Keep
		case "kept":
			return p.Status != book.Kept && p.Status != book.Reserve
		case "open":
			return p.Status == book.Lost || p.Status == book.OffType || p.Status == book.Passed
		case "unmeasured":
			return p.Measured
		}
		return false
	})
	less := map[string]func(a, b plantRow) int{
		"id":     func(a, b plantRow) int { return selection.CompareIDs(a.ID, b.ID) },
		"light":  func(a, b plantRow) int { return cmp.Compare(b.Lab.L, a.Lab.L) },
		"red":    func(a, b plantRow) int { return cmp.Compare(b.Lab.A, a.Lab.A) },
		"yellow": func(a, b plantRow) int { return cmp.Compare(b.Lab.B, a.Lab.B) },
	}[sort]
	if less != nil {
		slices.SortStableFunc(rows, less)
	}
	out.N, out.Season = len(rows), season
	for at := 0; at < len(rows); at += lot {
		some := rows[at:min(at+lot, len(rows))]
		html, err := r.drawRows(some)
		if err != nil {
			return nil, err
		}
		out.Rows += template.HTML(fmt.Sprintf("<ol start=\"%d\" style=\"--n:%d\">\n%s</ol>\n", at+1, len(some), html))
	}
	return out, nil
}

// lot is how many rows make one list: a browser looks at each lot, not at each row, to see whether it is in sight.
const lot = 40

// dropOf is what becomes of a plant of the line that is dropped: one of a line that is held true is an off-type.
func (s *Server) dropOf(ctx context.Context, line string) (book.Status, error) {
	l, err := s.b.Line(ctx, line)
	if err != nil {
		return "", err
	}
	if l.Target != nil && l.Target.Aim == book.Hold {
		return book.OffType, nil
	}
	return book.Passed, nil
}

// drawRows draws the rows, those from an earlier time where they are the same. r may be nil.
func (r *ranked) drawRows(rows []plantRow) (template.HTML, error) {
	drawn := map[string]template.HTML{}
	if r != nil {
		r.drawn.mu.Lock()
		defer r.drawn.mu.Unlock()
		drawn = r.drawn.rows
	}
	var out template.HTML
	for i := range rows {
		key := strings.Join([]string{rows[i].ID, string(rows[i].Status), rows[i].Advice, rows[i].Why}, "\x00")
		html, ok := drawn[key]
		if !ok {
			var err error
			if html, err = partOfPage("plant-row", &rows[i]); err != nil {
				return "", err
			}
			drawn[key] = html
		}
		out += html
	}
	return out, nil
}

// tellDecision answers a script with the plant's row as it is now, and with what was done, which can be taken back.
func (q *request) tellDecision(p *book.Plant, to book.Status) error {
	drop, err := q.dropOf(q.ctx(), p.Line)
	if err != nil {
		return err
	}
	row := plantRow{Plant: report.Plant{ID: p.ID}, Status: to, Why: words.Count(p.Photos, "photo"), Drop: drop}
	r, err := q.ranking(q.ctx(), p.Line, p.Season)
	if err == nil {
		for _, ranked := range r.Report.Plants {
			if ranked.ID == p.ID {
				row.Plant, row.Measured, row.ByBred = ranked, true, r.Report.ByOffspring
			}
		}
	}
	html, err := r.drawRows([]plantRow{row})
	if err != nil {
		return err
	}
	return q.tellDone("/plants", map[string]any{"row": html})
}
