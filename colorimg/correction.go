package colorimg

import (
	"cmp"
	"fmt"

	"hueward/colorimg/petal"
)

// Correction is what a user marked in the photo by hand. It is stored
// with the reading that was made with it.
type Correction struct {
	Card    *[4]Point `json:"card,omitempty"`    // corners of the grey patch
	Bloom   *Point    `json:"bloom,omitempty"`   // a point on the bloom
	Strokes []Stroke  `json:"strokes,omitempty"` // painted over the petals that were found, the last one on top
}

// Stroke is one stroke of a brush.
type Stroke struct {
	In     bool    `json:"in"`     // it marks petals; else what is not the bloom
	Radius float64 `json:"radius"` // of the brush
	Points []Point `json:"points"` // a single point is a dab
}

// The largest accepted numbers of strokes of a photo and of points of a stroke.
const (
	maxStrokes = 400
	maxPoints  = 2000
)

// Options returns a copy of opt that measures with the correction; c and opt may be nil.
func (c *Correction) Options(opt *Options) *Options {
	o := *cmp.Or(opt, new(Options))
	if c != nil {
		o.Card, o.Bloom, o.Strokes = c.Card, c.Bloom, c.Strokes
		o.NoCard = o.NoCard && c.Card == nil
	}
	return &o
}

// correction returns what the options hold of a correction; nil: nothing.
func (o *Options) correction() *Correction {
	if o.Card == nil && o.Bloom == nil && len(o.Strokes) == 0 {
		return nil
	}
	return &Correction{Card: o.Card, Bloom: o.Bloom, Strokes: o.Strokes}
}

// strokes returns the options' strokes in working pixels, or refuses the photo.
func (m *measuring) strokes() ([]petal.Stroke, error) {
	if len(m.opt.Strokes) > maxStrokes {
		return nil, m.refuse(Problem{CodeStrokes, fmt.Sprintf("%d strokes are painted over it", len(m.opt.Strokes)),
			fmt.Sprintf("paint at most %d", maxStrokes)}, nil)
	}
	var out []petal.Stroke
	far := float64(max(m.Size[0], m.Size[1]))
	for _, s := range m.opt.Strokes {
		if !(s.Radius > 0 && s.Radius <= far) || len(s.Points) == 0 || len(s.Points) > maxPoints {
			return nil, m.refuse(problemStroke, nil)
		}
		p := petal.Stroke{In: s.In, Radius: s.Radius / ((m.im.ScaleX + m.im.ScaleY) / 2)}
		for _, q := range s.Points {
			if !(q[0] >= -far && q[0] <= 2*far && q[1] >= -far && q[1] <= 2*far) { // also rejects NaN
				return nil, m.refuse(problemStrokeAway, nil)
			}
			p.Points = append(p.Points, m.toWork(q))
		}
		out = append(out, p)
	}
	return out, nil
}
