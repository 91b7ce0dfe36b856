package page

import (
	"errors"
	"fmt"
	"net/url"
	"strings"

	"hueward/report/page/enter"
	"hueward/report/story"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/intake"
)

// addPlants adds plants of the line by their names.
func (q *request) addPlants() error {
	line, _, err := q.aimed()
	if err != nil {
		return err
	}
	season := q.seasonNow()
	if q.err != nil {
		return q.err
	}
	names, err := naming.Spread(enter.Names(q.r.PostFormValue("plants")))
	if err != nil {
		return wrongf("%s", words.Sentence(err.Error()))
	}
	if len(names) == 0 || len(names) > 500 {
		return wrongf("Name the plants, such as M-01 M-02; at most 500 at once.")
	}
	added, left, why, err := q.each(names, func(b *book.Book, n string) (string, error) {
		return n, b.AddPlant(q.ctx(), book.Plant{ID: n, Line: line.Name, Season: season})
	})
	if err != nil {
		return err
	}
	if len(left) > 0 {
		return partOf(strings.Join(added, ", "), "added to "+line.Name, why, url.Values{"plants": {strings.Join(left, " ")}})
	}
	alike, err := intake.Alike(q.ctx(), q.b, names)
	if err != nil {
		return err
	}
	q.done("%s", words.Sentence(fmt.Sprintf("%s added to %s%s", words.Count(len(names), "plant"), line.Name, intake.DidYouMean(names, alike))))
	return q.to("/plants")
}

// statusWords are what the one-touch buttons say was done.
var statusWords = map[book.Status]string{
	book.Growing: "grows on", book.Kept: "is kept", book.Reserve: "is in reserve", book.Passed: "is dropped",
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
	case unranked(p.Status) || unranked(book.Status(to)):
		err = set()
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

// unranked reports whether a plant of that status is no candidate.
func unranked(s book.Status) bool { return s == book.Lost || s == book.OffType }

// plantPage is one plant's story, with its place in the ranking.
type plantPage struct {
	*story.Plant
	Parents string
	Rank    *plantRow // nil: not ranked in its season
	Decide  []choice  // what may become of it, always in the same order
	Rests   string    // what rests on it; empty: it can be taken out
}

// decisions are what the buttons on a plant's page are called.
var decisions = []choice{{string(book.Kept), "Keep"}, {string(book.Reserve), "Reserve"}, {string(book.Passed), "Drop"},
	{string(book.Growing), "Still growing"}, {string(book.OffType), "Off-type"}, {string(book.Lost), "Lost"}}

// plant tells one plant's story.
func (q *request) plant() error {
	s, err := story.Of(q.ctx(), q.b, q.r.PathValue("id"))
	if errors.Is(err, book.ErrNotFound) {
		return notFound("There is no plant %s in the book.", q.r.PathValue("id"))
	}
	if err != nil {
		return err
	}
	if s.ID != q.r.PathValue("id") {
		return q.to(plantPath(s.ID))
	}
	d := &plantPage{Plant: s, Parents: s.ParentWords(), Decide: decisions, Rests: queryOf(q, q.b.RestsOn, s.ID)}
	if r, err := q.ranking(q.ctx(), s.Line, s.Season); err == nil {
		for _, p := range r.Report.Plants {
			if p.ID == s.ID || p.ID == s.CloneOf { // which is ranked with its clones, as one
				d.Rank = &plantRow{Plant: p, ByBred: r.Report.ByOffspring}
			}
		}
	}
	return q.render("plant", s.ID, d)
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
	if _, changed := errors.AsType[*book.NoteChangedError](err); changed {
		return fmt.Errorf("%w. Your own is still below: put the two together, and save that", err)
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
	if err != nil {
		return err
	}
	v, err := t.Value(q.r.PostFormValue("value"))
	if err != nil {
		return err
	}
	if err := q.b.SetScores(q.ctx(), book.Score{Plant: id, Trait: t.Name, Value: v, On: q.now()}); err != nil {
		return err
	}
	q.done("%s: %s %s.", id, t.Name, t.Word(v))
	return q.to(plantPath(id))
}
