package page

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"

	"hueward/colorimg/cie"
	"hueward/report"
	"hueward/report/words"
	"hueward/selection/book"
)

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
	var added, left, why []string
	for _, n := range names {
		err := q.part(n).AddPlant(q.ctx(), book.Plant{ID: n, Line: line.Name, Season: season})
		switch {
		case err == nil || errors.Is(err, book.ErrRepeated):
			added = append(added, n)
		case statusOf(err) >= http.StatusInternalServerError:
			return err
		default:
			left, why = append(left, n), append(why, sentence(err.Error()))
		}
	}
	if len(left) > 0 {
		return partOf(strings.Join(added, ", "), "added to "+line.Name, why, url.Values{"plants": {strings.Join(left, " ")}})
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

// note replaces a plant's note, unless somebody else has meanwhile: then both are shown.
func (q *request) note() error {
	id := q.r.PathValue("id")
	text := func(field string) string { return strings.ReplaceAll(q.r.PostFormValue(field), "\r\n", "\n") }
	err := q.untouched(func() error {
		if !q.r.PostForm.Has("was") {
			return q.b.SetNote(q.ctx(), id, text("note"))
		}
		return q.b.ChangeNote(q.ctx(), id, text("was"), text("note"))
	})
	if changed := (*book.NoteChangedError)(nil); errors.As(err, &changed) {
		return fmt.Errorf("%w. Yours is still below: put the two together, and keep that", err)
	}
	if err != nil {
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
