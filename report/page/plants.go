package page

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"hueward/colorimg/cie"
	"hueward/report"
	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// plantRow is one plant of the list.
type plantRow struct {
	report.Plant
	Status   book.Status
	Measured bool
	Why      string // of one without a reading
}

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
	line, season, err := q.lineNow()
	if err != nil {
		return err
	}
	d := struct {
		Sorts, Shows    []choice
		Sort, Show, Has string
		Rows            template.HTML
		Season          string
		N               int
		Target          *report.Target
		Hint            string
		Words           []string
	}{Sorts: plantSorts, Shows: plantShows, Sort: q.r.FormValue("sort"), Show: q.r.FormValue("show"),
		Has: strings.TrimSpace(q.r.FormValue("has"))}
	if line == nil {
		return q.render("plants", "Plants", d)
	}
	if len(d.Has) > 60 {
		d.Has = d.Has[:60]
	}
	q.seen.look(line.Name, season)
	list, err := q.list(q.ctx(), line.Name, season, d.Sort, d.Show, d.Has)
	if err != nil {
		return err
	}
	d.Season, d.Rows, d.N, d.Target, d.Hint, d.Words = list.season, list.html, list.n, list.target, list.hint, list.words
	return q.render("plants", "Plants", d)
}

// list is the list of a line's plants in a season; empty: the newest with readings.
func (s *Server) list(ctx context.Context, line, season, sort, show, has string) (*rowList, error) {
	return remember(ctx, s, fmt.Sprintf("rows %q %q %q %q %q", line, season, sort, show, has), func(ctx context.Context) (*rowList, error) {
		return s.plantRows(ctx, line, season, sort, show, has)
	})
}

// rowList is the list as it is shown, which holds nothing of the device that asked.
type rowList struct {
	season string
	html   template.HTML
	n      int
	target *report.Target
	hint   string // why there is no ranking, and what to do
	words  []string
}

func (s *Server) plantRows(ctx context.Context, line, season, sort, show, has string) (*rowList, error) {
	out := &rowList{}
	status := map[string]book.Status{}
	var rows []plantRow
	r, err := s.ranking(ctx, line, season)
	switch {
	case err == nil:
		season = r.Season.Season
		out.target = &r.Report.Target
		out.words = append(out.words, r.Report.Warnings...)
		if r.Report.Sure != "" {
			out.words = append([]string{r.Report.Sure}, out.words...)
		}
		// Their status may have changed since they were ranked.
		plants, err := s.b.Plants(ctx, book.PlantFilter{Line: line, Season: season})
		if err != nil {
			return nil, err
		}
		for _, p := range plants {
			status[p.ID] = p.Status
		}
		for _, p := range r.Report.Plants {
			rows = append(rows, plantRow{Plant: p, Status: status[p.ID], Measured: true})
		}
		for _, u := range r.Report.Unmeasured {
			rows = append(rows, plantRow{Plant: report.Plant{ID: u.ID, Rank: math.MaxInt32}, Status: status[u.ID], Why: u.Why})
		}
	default:
		out.hint = sentence(err.Error())
		if season, err = garden.SeasonWithReadings(ctx, s.b, line, season); err != nil {
			return nil, err
		}
		plants, err := s.b.Plants(ctx, book.PlantFilter{Line: line, Season: season})
		if err != nil {
			return nil, err
		}
		for _, p := range plants {
			rows = append(rows, plantRow{Plant: report.Plant{ID: p.ID}, Status: p.Status, Why: words.Count(p.Photos, "photo")})
		}
	}
	rows = slices.DeleteFunc(rows, func(p plantRow) bool {
		if has != "" && !strings.Contains(strings.ToLower(p.ID), strings.ToLower(has)) {
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
	out.n, out.season = len(rows), season
	html, err := r.drawRows(rows)
	out.html = html
	return out, err
}

// drawRows draws the rows, those from an earlier time where they are the same. r may be
// nil.
func (r *ranked) drawRows(rows []plantRow) (template.HTML, error) {
	drawn := map[string]string{}
	if r != nil {
		r.mu.Lock()
		defer r.mu.Unlock()
		drawn = r.rows
	}
	var out strings.Builder
	for i := range rows {
		key := rows[i].ID + " " + string(rows[i].Status)
		html, ok := drawn[key]
		if !ok {
			var b strings.Builder
			if err := pages().ExecuteTemplate(&b, "plant-row", &rows[i]); err != nil {
				return "", err
			}
			html = b.String()
			drawn[key] = html
		}
		out.WriteString(html)
	}
	return template.HTML(out.String()), nil
}

// addPlants adds plants of the line by their names.
func (q *request) addPlants() error {
	line, _, err := q.aimed()
	if err != nil {
		return err
	}
	season, err := q.seasonNow()
	if err != nil {
		return err
	}
	names := strings.FieldsFunc(q.r.PostFormValue("plants"), func(r rune) bool {
		return r == ',' || r == ' ' || r == '\n' || r == '\r' ||
			r == ';'
	})
	if len(names) == 0 || len(names) > 500 {
		return wrongf("Name the plants, such as M-01 M-02; at most 500 at once.")
	}
	for _, n := range names {
		if err := q.b.AddPlant(q.ctx(), book.Plant{ID: n, Line: line.Name, Season: season}); err != nil {
			return err
		}
	}
	q.done("%s added to %s.", words.Count(len(names), "plant"), line.Name)
	return q.to("/plants")
}

// statusWords are what the one-touch buttons say was done.
var statusWords = map[book.Status]string{
	book.Growing: "grows on", book.Kept: "is kept", book.Reserve: "is in reserve", book.Passed: "is passed over",
	book.OffType: "is marked off-type", book.Lost: "is marked lost",
}

// status sets the status of one plant: the button that was pressed says "M-07 kept".
func (q *request) status() error {
	id, to, ok := strings.Cut(q.r.PostFormValue("set"), " ")
	words := statusWords[book.Status(to)]
	if !ok || words == "" {
		return wrongf("Say which plant, and what becomes of it.")
	}
	set := func() error { return q.b.SetStatus(q.ctx(), book.Status(to), id) }
	p, err := q.b.Plant(q.ctx(), id)
	switch {
	case err != nil:
		return err
	case p.Status == book.Lost || book.Status(to) == book.Lost:
		err = set() // a lost plant is not ranked
	default:
		err = q.untouched(set)
	}
	if err != nil {
		return err
	}
	q.done("%s %s.", id, words)
	if q.wantsJSON() {
		return q.tellDecision(p, book.Status(to))
	}
	if b := q.r.PostFormValue("back"); strings.HasPrefix(b, "/plants?") || b == "/plants" {
		q.r.PostForm.Set("back", b+"#p-"+url.PathEscape(p.ID)) // back to where it stands
	}
	return q.back("/plants")
}

// tellDecision answers a script with the plant's row as it is now, and with what was
// done, which can be taken back.
func (q *request) tellDecision(p *book.Plant, to book.Status) error {
	row := plantRow{Plant: report.Plant{ID: p.ID}, Status: to, Why: words.Count(p.Photos, "photo")}
	r, err := q.ranking(q.ctx(), p.Line, p.Season)
	if err == nil {
		for _, ranked := range r.Report.Plants {
			if ranked.ID == p.ID {
				row.Plant, row.Measured = ranked, true
			}
		}
	}
	html, err := r.drawRows([]plantRow{row})
	if err != nil {
		return err
	}
	version, err := q.b.Version(q.ctx())
	if err != nil {
		return err
	}
	s := q.device.told()
	return q.json(http.StatusOK, map[string]any{"row": html, "text": s.Text, "change": s.Change, "version": version})
}

// story is all that the book has of one plant.
type story struct {
	book.Plant
	Parents   string
	Rank      *report.Plant // nil: not ranked in its season
	Target    *report.Target
	Readings  []readingLine
	Scores    []scoreLine
	Traits    []book.Trait
	Offspring []book.Plant
	Crosses   []book.Cross
	Heads     []book.Head
	Packets   []book.Packet
	Pedigree  *pedigree
	Others    []book.Status
	Hex, Name string // of its surest reading
}

type readingLine struct {
	book.Reading
	Lab            cie.Lab
	DeltaE         float64
	Direction      string
	HasLab, HasAim bool
}

type scoreLine struct{ Trait, Word, Day string }

// plant tells one plant's story.
func (q *request) plant() error {
	ctx := q.ctx()
	p, err := q.b.Plant(ctx, q.r.PathValue("id"))
	if errors.Is(err, book.ErrNotFound) {
		return notFound("There is no plant %s in the book.", q.r.PathValue("id"))
	}
	if err != nil {
		return err
	}
	if p.ID != q.r.PathValue("id") {
		return q.to(plantPath(p.ID))
	}
	st := &story{Plant: *p, Parents: p.ParentWords()}
	line, err := q.b.Line(ctx, p.Line)
	if err != nil {
		return err
	}
	if r, err := q.ranking(q.ctx(), p.Line, p.Season); err == nil {
		st.Target = &r.Report.Target
		for i := range r.Report.Plants {
			if r.Report.Plants[i].ID == p.ID {
				st.Rank = &r.Report.Plants[i]
			}
		}
	}
	if err := q.tellReadings(st, line); err != nil {
		return err
	}
	if err := q.tellRecords(st); err != nil {
		return err
	}
	if st.Pedigree, err = q.pedigreeOf(p.ID); err != nil {
		return err
	}
	st.Generation = st.Pedigree.generation
	for _, s := range book.Statuses {
		if s != p.Status {
			st.Others = append(st.Others, s)
		}
	}
	return q.render("plant", p.ID, st)
}

func (q *request) tellReadings(st *story, line *book.Line) error {
	readings, err := q.b.ReadingsOf(q.ctx(), st.ID)
	if err != nil {
		return err
	}
	surest := math.Inf(1)
	for _, r := range readings {
		l := readingLine{Reading: r}
		if m := r.Measured; m.Lab != nil {
			l.Lab, l.HasLab = m.Lab.Lab(), true
			if line.Target != nil {
				l.HasAim, l.DeltaE = true, cie.DeltaE2000(l.Lab, line.Target.Lab)
				l.Direction = cie.Direction(l.Lab, line.Target.Lab)
			}
			if m.SE.Precision < surest {
				surest, st.Hex, st.Name = m.SE.Precision, l.Lab.Hex(), cie.Name(l.Lab)
			}
		}
		st.Readings = append(st.Readings, l)
	}
	return nil
}

func (q *request) tellRecords(st *story) error {
	ctx := q.ctx()
	traits, err := q.b.Traits(ctx)
	if err != nil {
		return err
	}
	byName := map[string]*book.Trait{}
	for i := range traits {
		byName[traits[i].Name] = &traits[i]
	}
	st.Traits = traits
	for _, u := range book.UsualTraits {
		if byName[u.Name] == nil {
			st.Traits = append(st.Traits, u)
		}
	}
	scores, err := q.b.Scores(ctx, st.ID)
	if err != nil {
		return err
	}
	for _, s := range scores {
		if t := byName[s.Trait]; t != nil {
			st.Scores = append(st.Scores, scoreLine{s.Trait, t.Word(s.Value), words.Day(s.On)})
		}
	}
	plants, err := q.b.Plants(ctx, book.PlantFilter{})
	if err != nil {
		return err
	}
	for _, o := range plants {
		if o.SeedParent == st.ID || o.PollenParent == st.ID {
			st.Offspring = append(st.Offspring, o)
		}
	}
	crosses, err := q.b.Crosses(ctx, "")
	if err != nil {
		return err
	}
	mine := map[string]bool{}
	for _, c := range crosses {
		if c.SeedParent == st.ID || c.PollenParent == st.ID {
			st.Crosses = append(st.Crosses, c)
			mine[c.Name] = true
		}
	}
	heads, err := q.b.Heads(ctx, "")
	if err != nil {
		return err
	}
	for _, h := range heads {
		if h.Plant == st.ID {
			st.Heads = append(st.Heads, h)
		}
	}
	packets, err := q.b.Packets(ctx, "")
	if err != nil {
		return err
	}
	for _, p := range packets {
		if mine[p.Cross] {
			st.Packets = append(st.Packets, p)
		}
	}
	return nil
}

// note replaces a plant's note.
func (q *request) note() error {
	id := q.r.PathValue("id")
	if err := q.untouched(func() error { return q.b.SetNote(q.ctx(), id, q.r.PostFormValue("note")) }); err != nil {
		return err
	}
	q.done("The note on %s is kept.", id)
	return q.to(plantPath(id))
}

// score scores a plant on a trait.
func (q *request) score() error {
	id, name := q.r.PathValue("id"), q.r.PostFormValue("trait")
	t, err := q.b.Trait(q.ctx(), name)
	if errors.Is(err, book.ErrNotFound) {
		for i := range book.UsualTraits {
			if strings.EqualFold(book.UsualTraits[i].Name, name) {
				t, err = &book.UsualTraits[i], nil
			}
		}
	}
	if err != nil {
		return err
	}
	v, err := t.Value(q.r.PostFormValue("value"))
	if err != nil {
		return err
	}
	if err := q.b.SetScores(q.ctx(), book.Score{Plant: id, Trait: t.Name, Value: v, On: q.opt.Now()}); err != nil {
		return err
	}
	q.done("%s: %s %s.", id, t.Name, t.Word(v))
	return q.to(plantPath(id))
}
