package page

import (
	"cmp"

	"hueward/report/page/enter"
	"hueward/selection/book"
)

// removePhoto takes a photo and its readings out of the book. Its file stays in the
// book's folder, so that it can be brought back.
func (q *request) removePhoto(p *book.Photo) error {
	if err := q.b.RemovePhotos(q.ctx(), p.ID); err != nil {
		return err
	}
	q.done("%s is taken out of the book.", p.Name)
	return q.to(pageOf(p))
}

// ofNone says that it is not known which plant a photo shows.
func (q *request) ofNone(p *book.Photo) error {
	if err := q.b.UnassignPhotos(q.ctx(), p.ID); err != nil {
		return err
	}
	q.done("%s: its plant is not known now.", p.Name)
	return q.assigned(p.ID)
}

// pageOf is the page of the photo's plant, or that of all photos.
func pageOf(p *book.Photo) string {
	if p.Plant == "" {
		return "/photos"
	}
	return plantPath(p.Plant)
}

// mendPlant puts right what was entered of a plant, or takes it out.
func (q *request) mendPlant() error {
	m, err := enter.MendPlant(q.ctx(), q.b, q.r.PathValue("id"), q.filled())
	if err != nil {
		return err
	}
	q.done("%s", m.Said())
	if m.Plant == "" {
		return q.to("/plants")
	}
	return q.to(plantPath(m.Plant))
}

// mendLine gives the line that is looked at another name, or plants to a line.
func (q *request) mendLine() error {
	f := q.filled()
	m, err := enter.MendLine(q.ctx(), q.b, f)
	if err != nil {
		return err
	}
	if f.Text("do") == "rename" {
		q.device.looks.Store(&lookedAt{f.Text("to"), cmp.Or(q.device.looks.Load(), &lookedAt{}).season})
	}
	q.done("%s", m.Said())
	return q.to("/plants")
}
