package page

import (
	"strings"

	"hueward/report/mending"
	"hueward/selection/book"
)

// removePhoto takes a photo and its readings out of the book. Its file stays in the
// book's folder, so that it can be brought back.
func (q *request) removePhoto() error {
	p, err := q.photoNumber()
	if err != nil {
		return err
	}
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
	id := q.r.PathValue("id")
	var d *mending.Done
	var err error
	switch q.r.PostFormValue("do") {
	case "rename":
		d, err = mending.Rename(q.ctx(), q.b, id, q.r.PostFormValue("to"))
	case "merge":
		d, err = mending.Merge(q.ctx(), q.b, id, q.r.PostFormValue("into"))
	case "move":
		d, err = mending.Move(q.ctx(), q.b, q.r.PostFormValue("line"), id)
	case "remove":
		if _, err = q.b.Remove(q.ctx(), "plant", id); err == nil {
			d = &mending.Done{Text: id + " is taken out of the book"}
		}
	default:
		return wrongf("Say what is to be put right.")
	}
	if err != nil {
		return err
	}
	path := "/plants"
	if d.Plant != "" {
		path = plantPath(d.Plant)
	}
	return q.mended(d, path)
}

// mendLine gives the line that is looked at another name, or plants to a line.
func (q *request) mendLine() error {
	if q.r.PostFormValue("do") == "move" {
		plants := strings.FieldsFunc(q.r.PostFormValue("plants"), func(r rune) bool { return strings.ContainsRune(", ;\r\n\t", r) })
		if len(plants) == 0 {
			return wrongf("Name the plants, such as M-01 M-02 or M-01..M-09.")
		}
		d, err := mending.Move(q.ctx(), q.b, q.r.PostFormValue("line"), plants...)
		if err != nil {
			return err
		}
		return q.mended(d, "/plants")
	}
	to := q.r.PostFormValue("to")
	d, err := mending.RenameLine(q.ctx(), q.b, q.r.PostFormValue("line"), to)
	if err != nil {
		return err
	}
	_, season := q.device.choose("", "", false)
	q.device.choose(strings.TrimSpace(to), season, true)
	return q.mended(d, "/plants")
}

func (q *request) mended(d *mending.Done, path string) error {
	text := sentence(d.Text)
	if len(d.Odd) > 0 {
		text += " The two did not agree; what counts now: " + sentence(strings.Join(d.Odd, "; "))
	}
	q.done("%s", text)
	return q.to(path)
}
