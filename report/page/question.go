package page

import (
	"hueward/colorimg/tag"
	"hueward/selection/book"
	"hueward/selection/book/naming"
)

// question is the one which plant a photo shows: its tag says one, and somebody may have typed another.
type question struct {
	Tag, Said string
	Token     string // for the form of the answer
}

// askOf is the question that a photo without a plant raises; nil: its tag says nothing.
func (q *request) askOf(p *book.Photo, r *book.Reading) *question {
	if p.Plant != "" || r == nil {
		return nil
	}
	t, ok := tag.Parse(r.Measured.Tag.Text)
	if !ok || t.Plant == "" {
		return nil
	}
	return &question{Tag: t.Plant, Said: q.said.of(p.ID, nil), Token: q.door.Token(q.device.Device)}
}

func sameName(a, b string) bool {
	x, err1 := naming.CleanID(a)
	y, err2 := naming.CleanID(b)
	return err1 == nil && err2 == nil && naming.Key(x) == naming.Key(y)
}
