package page

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/disk"
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
	Version      int64 // of its reading, so that a browser fetches a new picture
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
		c.Flags = append(c.Flags, flagWords{sentence(what), sentence(todo), f.Info()})
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
	targets, err := q.targets()
	if err != nil {
		return err
	}
	d := struct {
		Cards   []photoCard
		Plant   string
		Unknown []book.Photo
		Photos  int
		MiB     int64
	}{Plant: q.r.FormValue("plant"), Photos: q.opt.Limits.Photos, MiB: q.opt.Limits.Bytes >> 20}
	for i := range list {
		d.Cards = append(d.Cards, newCard(&list[i], readings[i], targets))
	}
	if d.Unknown, err = q.b.Unassigned(q.ctx()); err != nil {
		return err
	}
	return q.render("photos", "Photos", d)
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
func (q *request) targets() (map[string]*book.Target, error) {
	lines, err := q.b.Lines(q.ctx())
	if err != nil {
		return nil, err
	}
	out := map[string]*book.Target{}
	for _, l := range lines {
		out[l.Name] = l.Target
	}
	return out, nil
}

// addPhotos takes photos, measures them and keeps them. A script sends them one by one
// and asks for JSON; without, all come in one form.
func (q *request) addPhotos() error {
	l := q.opt.Limits
	var cards []photoCard
	_, err := q.parts(int64(l.Photos)*l.Bytes+formBytes, func(file *multipart.Part, fields map[string]string) (bool, error) {
		if len(cards) >= l.Photos {
			return false, &wrongError{http.StatusRequestEntityTooLarge, fmt.Sprintf("More than %d photos at once. Those before are kept; send "+
				"the rest after them.", l.Photos)}
		}
		c, err := q.addPhoto(file, fields["plant"])
		if err == nil {
			cards = append(cards, *c)
		}
		return true, err
	})
	if err != nil {
		return err
	}
	if len(cards) == 0 {
		return wrongf("No photo came along. Choose some, and send them again.")
	}
	if !q.wantsJSON() {
		kept, bad := 0, ""
		for _, c := range cards {
			if c.ID != 0 {
				kept++
			} else {
				bad += " " + c.File + ": " + c.Reason
			}
		}
		q.mention("%s added.%s", words.Count(kept, "photo"), bad)
		return q.to("/photos")
	}
	var out []map[string]any
	for _, c := range cards {
		var html bytes.Buffer
		if err := pages().ExecuteTemplate(&html, "photo-card", c); err != nil {
			return err
		}
		out = append(out, map[string]any{"id": c.ID, "status": c.Status, "again": c.Again, "html": template.HTML(html.String())})
	}
	return q.json(http.StatusOK, out)
}

// addPhoto measures and keeps one photo that was sent. What was sent before, whole, is
// not measured or kept twice: a device that lost its connection sends it again.
func (q *request) addPhoto(part *multipart.Part, plant string) (*photoCard, error) {
	dir, err := os.MkdirTemp("", "hueward-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	name := safeName(part.FileName())
	file := filepath.Join(dir, name)
	if err := q.receive(file, part); err != nil {
		return nil, err
	}
	sum, err := disk.Sum(file)
	if err != nil {
		return nil, err
	}
	targets, err := q.targets()
	if err != nil {
		return nil, err
	}
	if known, err := q.b.PhotoBySHA(q.ctx(), sum); err == nil {
		if r, err := q.b.NewestReading(q.ctx(), sum); err == nil && r.Measured.Method == colorimg.Method {
			if plant != "" && known.Plant == "" { // now it is said which one it shows
				if known, r, err = q.nowOf(file, name, plant, r); err != nil {
					return nil, err
				}
			} else if plant = strings.TrimSpace(plant); plant != "" && !strings.EqualFold(plant, known.Plant) {
				c := card(nil, &r.Measured, nil)
				c.File, c.Status, c.Lab = known.Name, string(colorimg.Refused), nil
				c.Reason, c.Hint = unkept(&intake.Problem{Code: intake.OtherPlant, Plant: known.Plant, Want: plant}), ""
				return &c, nil
			}
			c := newCard(known, r, targets)
			c.Again = true
			return &c, nil
		}
	} else if !errors.Is(err, book.ErrNotFound) {
		return nil, err
	}
	m, err := q.measure(file, nil)
	if err != nil {
		return nil, err
	}
	m.File = name
	refused := func(why string) *photoCard {
		c := card(nil, m, nil)
		if why != "" {
			c.Status, c.Reason, c.Hint, c.Lab = string(colorimg.Refused), why, "", nil
		}
		return &c
	}
	if m.SHA256 == "" {
		return refused(""), nil
	}
	rec, err := q.take(file, name, plant, m)
	if why := (*intake.Problem)(nil); errors.As(err, &why) {
		return refused(unkept(why)), nil
	}
	if err != nil {
		return nil, err
	}
	q.changed(context.WithoutCancel(q.ctx()))
	r, err := q.b.NewestReading(q.ctx(), m.SHA256)
	if err != nil {
		return nil, err
	}
	c := newCard(&rec.Photo, r, targets)
	c.Again = rec.Duplicate
	return &c, nil
}

// nowOf gives a photo that was kept without one the plant that it shows.
func (q *request) nowOf(file, name, plant string, r *book.Reading) (*book.Photo, *book.Reading, error) {
	rec, err := q.take(file, name, plant, &r.Measured)
	if why := (*intake.Problem)(nil); errors.As(err, &why) {
		return nil, nil, wrongf("%s", unkept(why))
	}
	if err != nil {
		return nil, nil, err
	}
	now, err := q.b.NewestReading(q.ctx(), rec.Photo.SHA256)
	return &rec.Photo, now, err
}

// receive writes a photo that is sent into a file.
func (q *request) receive(file string, from io.Reader) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	n, err := io.Copy(f, io.LimitReader(from, q.opt.Limits.Bytes+1))
	if e := f.Close(); err == nil {
		err = e
	}
	switch {
	case n > q.opt.Limits.Bytes:
		return &wrongError{http.StatusRequestEntityTooLarge, fmt.Sprintf("A photo of more than %d MiB is not taken.", q.opt.Limits.Bytes>>20)}
	case err != nil:
		return tooLarge(err)
	}
	return nil
}

// measure measures a file, as many at a time as there are processors.
func (q *request) measure(file string, c *colorimg.Correction) (*colorimg.Reading, error) {
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
	r, err := colorimg.Measure(q.ctx(), file, c.Options(&colorimg.Options{Cameras: cameras, Limits: q.limits()}))
	var refused *colorimg.RefusedError
	if err != nil && !errors.As(err, &refused) {
		return nil, err
	}
	return r, nil
}

// take keeps a photo of that name, whose plant may have been named, by the rules of
// [intake]; to the end, even when the device goes away meanwhile. New plants belong to
// the line that the device looks at.
func (q *request) take(file, name, plant string, m *colorimg.Reading) (*book.Recorded, error) {
	o := &intake.Options{Now: q.opt.Now()}
	line, _, err := q.lineNow()
	if err != nil {
		return nil, err
	}
	if line != nil {
		o.Line = line.Name
	}
	ctx := context.WithoutCancel(q.ctx())
	in, err := intake.Open(ctx, q.b, o)
	if err != nil {
		return nil, err
	}
	p := intake.Photo{Said: plant, Measured: m.Lab != nil, Mendable: true}
	if m.Plant != nil {
		p.Tag = *m.Plant
	}
	if m.TakenAt != nil {
		p.Taken = m.TakenAt.Time
	}
	if p.Guess, err = in.Guess(ctx, name, ""); err != nil {
		return nil, err
	}
	return in.Keep(ctx, book.Entry{File: file, Reading: m}, p)
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

// assign says which plant a photo shows, or that none is known.
func (q *request) assign() error {
	p, err := q.photoNumber()
	if err != nil {
		return err
	}
	if q.r.PostFormValue("none") != "" {
		return q.ofNone(p)
	}
	plant, err := naming.CleanID(q.r.PostFormValue("plant"))
	if err != nil {
		return err
	}
	line := ""
	if _, err := q.b.Plant(q.ctx(), plant); errors.Is(err, book.ErrNotFound) {
		l, _, err := q.aimed()
		if err != nil {
			return err
		}
		line = l.Name
	} else if err != nil {
		return err
	}
	if _, err := q.b.AssignPhotos(q.ctx(), line, book.Assignee{Photo: p.ID, Plant: plant}); err != nil {
		return err
	}
	q.done("%s shows %s.", p.Name, plant)
	return q.back(fmt.Sprintf("/photos/%d", p.ID))
}
