package page

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"strings"

	"hueward/colorimg"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/intake"
)

// addPhotos receives photos, measures them and keeps them. A script sends them one by one
// and asks for JSON; without a script, all come in one form.
func (q *request) addPhotos() error {
	var cards []photoCard
	_, err := q.parts(q.opt.Limits.Photos, func(file string, fields map[string]string) (bool, error) {
		c, err := q.addPhoto(file, strings.TrimSpace(fields["plant"]), cleanRequest(fields["request"]))
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
		kept, more := 0, ""
		for _, c := range cards {
			if c.ID != 0 {
				kept++
			} else {
				more += " " + c.File + ": " + c.Reason
			}
			if c.Ask != nil && c.Ask.Said != "" {
				more += fmt.Sprintf(" %s: the tag says %s, and %s was typed; say below which it is.", c.File, c.Ask.Tag, c.Ask.Said)
			}
			for _, s := range c.Told {
				more += " " + s
			}
		}
		q.done("%s added.%s", words.Count(kept, "photo"), more)
		return q.to("/photos")
	}
	var out []map[string]any
	for _, c := range cards {
		html, err := partOfPage("photo-card", &c)
		if err != nil {
			return err
		}
		out = append(out, map[string]any{"id": c.ID, "status": c.Status, "again": c.Again, "plant": c.Plant,
			"reason": strings.TrimSpace(c.Reason + " " + c.Hint),
			"ask":    c.Ask != nil, "html": html})
	}
	return q.json(http.StatusOK, out)
}

// addPhoto measures and keeps one photo that was sent, once for its request id: a device that lost its connection
// sends it again, and it must not be measured or kept twice.
func (q *request) addPhoto(file, plant, id string) (*photoCard, error) {
	name := filepath.Base(file)
	sum, err := disk.Sum(file)
	if err != nil {
		return nil, err
	}
	asked := book.Request{ID: id, Sum: sum}
	if taken, _, err := q.b.Taken(q.ctx(), asked); err != nil || taken && id != "" {
		return q.addedBefore(name, sum, err)
	}
	if known, err := q.b.PhotoBySHA(q.ctx(), sum); err == nil {
		if r, err := q.b.NewestReading(q.ctx(), sum); err == nil && r.Measured.Method == colorimg.Method {
			if plant != "" && known.Plant == "" { // now it is said which one it shows
				return q.nowOf(file, name, plant, r)
			}
			if plant != "" && !q.called(plant, known.Plant) {
				return refused(&r.Measured, known.Name, unkept(&intake.Problem{Code: intake.OtherPlant, Plant: known.Plant, Want: plant})), nil
			}
			c, err := q.shown(known, true, nil)
			if err == nil {
				c.Ask = nil
			}
			return c, err
		}
	} else if !errors.Is(err, book.ErrNotFound) {
		return nil, err
	}
	m, err := q.measure(file)
	if err != nil {
		return nil, err
	}
	m.File = name
	if m.SHA256 == "" {
		return refused(m, m.File, ""), nil
	}
	said := ""
	if m.Plant != nil && plant != "" && !sameName(*m.Plant, plant) {
		// Tag and field disagree: the photo is kept, and no plant gets it before somebody says which.
		said, plant, m.Plant, name = plant, "", nil, "" // nor does its file's name say it
	}
	once := *q
	once.b = q.b.Once(asked)
	rec, told, err := once.take(file, name, plant, m)
	if why, ok := errors.AsType[*intake.Problem](err); ok {
		return refused(m, m.File, unkept(why)), nil
	}
	if errors.Is(err, book.ErrRepeated) {
		return q.addedBefore(m.File, sum, nil)
	}
	if err != nil {
		return nil, err
	}
	q.changed(context.WithoutCancel(q.ctx()))
	if said != "" {
		q.said.put(rec.Photo.ID, said)
	}
	return q.shown(&rec.Photo, rec.Duplicate, told)
}

// refused returns the card of a photo that is not kept, and why; why empty: the reading says it.
func refused(m *colorimg.Reading, name, why string) *photoCard {
	c := card(nil, m, nil)
	c.File = name
	if why != "" {
		c.Status, c.Reason, c.Hint, c.Lab = string(colorimg.Refused), why, "", nil
	}
	return &c
}

// addedBefore returns the present card of a photo whose request was handled before.
func (q *request) addedBefore(name, sum string, err error) (*photoCard, error) {
	if err != nil {
		return nil, err
	}
	p, err := q.b.PhotoBySHA(q.ctx(), sum)
	if errors.Is(err, book.ErrNotFound) {
		return &photoCard{File: name, Status: "gone", Reason: "It was added, and taken out of the book since."}, nil
	}
	if err != nil {
		return nil, err
	}
	return q.shown(p, true, nil)
}

// nowOf gives a photo that was kept without one the plant that it shows.
func (q *request) nowOf(file, name, plant string, r *book.Reading) (*photoCard, error) {
	rec, told, err := q.take(file, name, plant, &r.Measured)
	if why, ok := errors.AsType[*intake.Problem](err); ok {
		return nil, wrongf("%s", unkept(why))
	}
	if err != nil {
		return nil, err
	}
	return q.shown(&rec.Photo, true, told)
}

// called reports whether what was typed names that plant, with or without its check letter.
func (q *request) called(typed, plant string) bool {
	name, err := q.b.One(q.ctx(), typed)
	return err == nil && name == plant
}
