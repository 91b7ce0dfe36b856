package page

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/intake"
)

// photoCard is one photo as a list shows it.
type photoCard struct {
	ID           int64 // 0: refused, and not kept
	File, Plant  string
	Status       string
	Hex, Name    string
	Lab          *cie.Lab
	SE           float64
	DeltaE       float64
	HasAim       bool
	Direction    string
	Flags        []flagWords
	Reason, Hint string // of one that is refused
	Again        bool   // it was in the book already
	Corrected    bool
	Told         []string  // plants that are new with it, or names that were left out
	Version      int64     // of its reading, so that a browser fetches a new picture
	Ask          *question // which plant it shows; nil: that is known, or nothing says it
}

type flagWords struct {
	What, Todo string
	Info       bool
}

// card says of a reading what a list shows; target may be nil.
func card(p *book.Photo, m *colorimg.Reading, target *book.Target) photoCard {
	c := photoCard{File: m.File, Status: string(m.Status)}
	if p != nil {
		c.ID, c.File, c.Plant = p.ID, p.Name, p.Plant
	} else if m.Plant != nil {
		c.Plant = *m.Plant
	}
	c.File = filepath.Base(filepath.ToSlash(c.File))
	c.Corrected = m.Correction != nil
	for _, f := range m.Flags {
		what, todo := hints.OfFlag(f)
		c.Flags = append(c.Flags, flagWords{words.Sentence(what), words.Sentence(todo), f.Info()})
	}
	if m.Status == colorimg.Refused || m.Lab == nil {
		c.Reason, c.Hint = refusal(m)
		return c
	}
	l := m.Lab.Lab()
	c.Lab, c.Hex, c.Name, c.SE = &l, m.Hex, m.Name, m.SE.Precision
	if target != nil {
		c.HasAim, c.DeltaE = true, cie.DeltaE2000(l, target.Lab)
		c.Direction = compose.Compared(cie.Direction(l, target.Lab))
	}
	return c
}

// photos shows what was added last, and takes more.
func (q *request) photos() error {
	const shown = 40
	list, readings, err := q.b.NewestPhotos(q.ctx(), shown)
	if err != nil {
		return err
	}
	targets := q.targets()
	d := struct {
		Cards   []photoCard
		Plant   string
		Unknown []book.Photo
		Photos  int
		MiB     int64
	}{Plant: q.r.FormValue("plant"), Unknown: query(q, q.b.Unassigned), Photos: q.opt.Limits.Photos, MiB: q.opt.Limits.Bytes >> 20}
	for i := range list {
		c := newCard(&list[i], readings[i], targets)
		c.Ask = q.askOf(&list[i], readings[i])
		d.Cards = append(d.Cards, c)
	}
	return q.render("photos", "Photos", d)
}

// shown is the card of a photo of the book as it is now, with the question that it raises; whether it was there before, and what
// is to be told of its plant.
func (q *request) shown(p *book.Photo, again bool, told []string) (*photoCard, error) {
	r, err := q.b.NewestReading(q.ctx(), p.SHA256)
	if err != nil && !errors.Is(err, book.ErrNotFound) {
		return nil, err
	}
	c := newCard(p, r, q.targets())
	c.Ask, c.Again, c.Told = q.askOf(p, r), again, told
	return &c, q.err
}

func newCard(p *book.Photo, r *book.Reading, targets map[string]*book.Target) photoCard {
	if r == nil {
		return photoCard{ID: p.ID, File: p.Name, Plant: p.Plant, Reason: "Not measured."}
	}
	c := card(p, &r.Measured, targets[r.Line])
	c.Version = r.ID
	return c
}

// targets are the lines' targets, by the lines' names.
func (q *request) targets() map[string]*book.Target {
	lines := query(q, q.b.Lines)
	out := map[string]*book.Target{}
	for _, l := range lines {
		out[l.Name] = l.Target
	}
	line, _ := q.looksAt(lines, nil)
	out[""] = out[line] // where the plant is not known yet
	return out
}

// measured is what f reads of a photo, with the book's cameras: as many at a time as there are processors. That it is
// refused is no error.
func (q *request) measured(f func(*colorimg.Options) (*colorimg.Reading, error)) (*colorimg.Reading, error) {
	select {
	case q.work <- struct{}{}:
		defer func() { <-q.work }()
	case <-q.ctx().Done():
		return nil, q.ctx().Err()
	}
	cameras, err := compose.Cameras(q.ctx(), q.b)
	if err != nil {
		return nil, err
	}
	r, err := f(&colorimg.Options{Cameras: cameras, Limits: q.limits()})
	if _, refused := errors.AsType[*colorimg.RefusedError](err); refused {
		err = nil
	}
	return r, err
}

// measure measures a file.
func (q *request) measure(file string) (*colorimg.Reading, error) {
	return q.measured(func(o *colorimg.Options) (*colorimg.Reading, error) { return colorimg.Measure(q.ctx(), file, o) })
}

// take keeps a photo of that name, whose plant may have been named, by the rules of
// [intake]; to the end, even when the device goes away meanwhile. New plants belong to
// the line that the device looks at; of those, told says so as sentences.
func (q *request) take(file, name, plant string, m *colorimg.Reading) (rec *book.Recorded, told []string, err error) {
	o := &intake.Options{Now: q.opt.Now()}
	line, _ := q.lineNow()
	if q.err != nil {
		return nil, nil, q.err
	}
	if line != nil {
		o.Line = line.Name
	}
	ctx := context.WithoutCancel(q.ctx())
	in, err := intake.Open(ctx, q.b, o)
	if err != nil {
		return nil, nil, err
	}
	p := intake.Photo{Said: plant, Measured: m.Lab != nil, Mendable: true}
	if m.Plant != nil {
		p.Tag = *m.Plant
	}
	if m.TakenAt != nil {
		p.Taken = m.TakenAt.Time
	}
	if p.Guess, err = in.Guess(ctx, name, ""); err != nil {
		return nil, nil, err
	}
	if rec, err = in.Keep(ctx, book.Entry{File: file, Reading: m}, p); err != nil {
		return rec, nil, err
	}
	if told, err = in.Told(ctx); err != nil {
		return nil, nil, err
	}
	return rec, words.Each(told, words.Sentence), nil
}

// safeName is the name of a file that was sent, as a name of a file here.
func safeName(name string) string {
	name = strings.ReplaceAll(name, `\`, "/")
	name = filepath.Base(filepath.FromSlash(name))
	ext := filepath.Ext(name)
	stem := naming.SafeName(strings.TrimSuffix(name, ext))
	if r := []rune(stem); len(r) > 80 {
		stem = string(r[:80])
	}
	if stem == "" || stem == "." {
		stem = "photo"
	}
	if ext = naming.SafeName(strings.TrimPrefix(ext, ".")); ext == "" || len(ext) > 8 {
		ext = "jpg"
	}
	return stem + "." + ext
}

func (q *request) photoNumber() (*book.Photo, error) {
	id, err := strconv.ParseInt(q.r.PathValue("id"), 10, 64)
	if err != nil {
		return nil, notFound("There is no such photo.")
	}
	p, err := q.b.PhotoNumber(q.ctx(), id)
	if errors.Is(err, book.ErrNotFound) {
		return nil, notFound("There is no photo of number %d in the book.", id)
	}
	return p, err
}

// ofPhoto is what is done with the photo of the book that the address names.
func ofPhoto(f func(q *request, p *book.Photo) error) do {
	return func(q *request) error {
		p, err := q.photoNumber()
		if err != nil {
			return err
		}
		return f(q, p)
	}
}

// assign says which plant a photo shows, or that none is known.
func (q *request) assign(p *book.Photo) error {
	if q.r.PostFormValue("none") != "" {
		return q.ofNone(p)
	}
	plant, err := naming.CleanID(q.r.PostFormValue("plant"))
	if err != nil {
		return err
	}
	isNew, err := q.b.New(q.ctx(), plant)
	if err != nil {
		return err
	}
	line, told := "", ""
	if isNew {
		l, _, err := q.aimed()
		if err != nil {
			return err
		}
		line = l.Name
	}
	if _, err := q.b.AssignPhotos(q.ctx(), line, book.Assignee{Photo: p.ID, Plant: plant}); err != nil {
		return err
	}
	if isNew {
		if told, err = intake.NewPlants(q.ctx(), q.b, []string{plant}); err != nil {
			return err
		}
		told = " " + words.Sentence(told)
	}
	q.done("%s shows %s.%s", p.Name, plant, told)
	return q.assigned(p.ID)
}

// assigned answers who has said which plant a photo shows: a script with the photo's card as it
// is now, for the place where it was asked.
func (q *request) assigned(id int64) error {
	path := q.backOr(fmt.Sprintf("/photos/%d", id))
	if !q.wantsJSON() {
		return q.to(path)
	}
	p, err := q.b.PhotoNumber(q.ctx(), id)
	if err != nil {
		return err
	}
	c, err := q.shown(p, false, nil)
	if err != nil {
		return err
	}
	html, err := partOfPage("photo-card", c)
	if err != nil {
		return err
	}
	return q.tellDone(path, map[string]any{"id": id, "plant": p.Plant, "card": html})
}
