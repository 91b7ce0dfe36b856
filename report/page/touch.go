package page

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/report/compose"
	"hueward/selection/book"
)

// workings keeps the photos that were corrected last open, so that a touch shows its new
// outline at once. Each is as large as a working picture.
type workings struct {
	mu   sync.Mutex
	kept []*working // the one of the newest touch last
}

type working struct {
	mu sync.Mutex // of one touch at a time
	id int64
	*colorimg.Working
}

const mostWorkings = 3

// of is the photo of that number, opened by f where it is not kept.
func (w *workings) of(id int64, f func() *colorimg.Working) *working {
	w.mu.Lock()
	defer w.mu.Unlock()
	i := slices.IndexFunc(w.kept, func(k *working) bool { return k.id == id })
	k := &working{id: id}
	if i >= 0 {
		k = w.kept[i]
		w.kept = slices.Delete(w.kept, i, i+1)
	} else {
		k.Working = f()
	}
	w.kept = append(w.kept, k)
	if len(w.kept) > mostWorkings {
		w.kept = slices.Delete(w.kept, 0, 1)
	}
	return k
}

// touched measures a photo of the book with what was pointed out.
func (q *request) touched(p *book.Photo, c *colorimg.Correction) (*colorimg.Reading, error) {
	cameras, err := compose.Cameras(q.ctx(), q.b)
	if err != nil {
		return nil, err
	}
	w := q.inHand.of(p.ID, func() *colorimg.Working {
		return colorimg.NewWorking(q.b.PhotoFile(*p), &colorimg.Options{Cameras: cameras, Limits: q.limits()})
	})
	w.mu.Lock()
	defer w.mu.Unlock()
	select {
	case q.work <- struct{}{}:
		defer func() { <-q.work }()
	case <-q.ctx().Done():
		return nil, q.ctx().Err()
	}
	r, err := w.Measure(q.ctx(), c)
	var refused *colorimg.RefusedError
	if err != nil && !errors.As(err, &refused) {
		return nil, err
	}
	return r, nil
}

// outline shows what would be measured with what was pointed out so far. It keeps nothing.
func (q *request) outline() error {
	p, err := q.photoNumber()
	if err != nil {
		return err
	}
	c, err := q.correction(p)
	if err != nil {
		return err
	}
	m, err := q.touched(p, c)
	if err != nil {
		return err
	}
	if m.Status == colorimg.Refused || m.Lab == nil {
		reason, hint := refusal(m)
		return wrongf("%s %s", reason, hint)
	}
	lab := m.Lab.Lab()
	answer := map[string]any{"outline": outlinePath(m), "hex": m.Hex, "name": m.Name}
	if targets, err := q.targets(); err == nil {
		if r, err := q.b.NewestReading(q.ctx(), p.SHA256); err == nil && targets[r.Line] != nil {
			answer["away"] = fmt.Sprintf("%.1f", cie.DeltaE2000(lab, targets[r.Line].Lab))
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
