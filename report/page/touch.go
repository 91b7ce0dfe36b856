package page

import (
	"fmt"
	"net/http"
	"strings"
	"sync"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection/book"
)

// working is a photo that was corrected last, kept open so that a touch shows its new outline at once. Each is as large as
// a working picture.
type working struct {
	mu sync.Mutex // of one touch at a time
	*colorimg.Working
}

const mostWorkings = 3

// touched measures a photo of the book with what the form says was pointed out.
func (q *request) touched(p *book.Photo) (c *colorimg.Correction, m *colorimg.Reading, err error) {
	if c, err = q.correction(p); err != nil {
		return nil, nil, err
	}
	w := q.inHand.of(p.ID, func() *working { return &working{} })
	w.mu.Lock()
	defer w.mu.Unlock()
	m, err = q.measured(func(o *colorimg.Options) (*colorimg.Reading, error) {
		if w.Working == nil {
			w.Working = colorimg.NewWorking(q.b.PhotoFile(*p), o)
		}
		return w.Measure(q.ctx(), c)
	})
	return c, m, err
}

// outline shows what would be measured with what was pointed out so far. It keeps nothing.
func (q *request) outline(p *book.Photo) error {
	_, m, err := q.touched(p)
	if err != nil {
		return err
	}
	if m.Status == colorimg.Refused || m.Lab == nil {
		reason, hint := refusal(m)
		return wrongf("%s %s", reason, hint)
	}
	lab := m.Lab.Lab()
	answer := map[string]any{"outline": outlinePath(m), "hex": m.Hex, "name": m.Name}
	if r, err := q.b.NewestReading(q.ctx(), p.SHA256); err == nil {
		if t := q.targets()[r.Line]; t != nil {
			answer["away"] = fmt.Sprintf("%.1f", cie.DeltaE2000(lab, t.Lab))
		}
	}
	return q.json(http.StatusOK, answer)
}

// outlinePath is the outline of the petals as the path of a drawing.
func outlinePath(m *colorimg.Reading) string {
	var out strings.Builder
	for _, loop := range m.Petal.Outline {
		for i, pt := range loop {
			fmt.Fprintf(&out, "%c%.1f %.1f", "ML"[min(i, 1)], pt[0]+0.5, pt[1]+0.5)
		}
		out.WriteByte('Z')
	}
	return out.String()
}
