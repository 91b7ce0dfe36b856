package page

import "hueward/selection/book"

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
