package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/shape"
)

// TagSpec is a plant tag: a square code printed on white paper with its quiet zone, lying or leaning among the rest.
type TagSpec struct {
	Modules [][]bool    // rows from the top, true where dark, without the quiet zone
	Width   float64     // of the code without its quiet zone, seen straight on, share of the frame's width; 0: 0.08
	Angle   float64     // turned clockwise, degrees
	Tilt    float64     // its upper edge leans back, degrees, up to 75; seen by a phone's main camera
	At      *[2]float64 // middle of the code, share of the frame; nil: a free place
}

const (
	quietZone = 4    // modules around a code (ISO/IEC 18004, from memory)
	paperY    = 0.83 // reflectance of paper and of ink; common practice, no source
	inkY      = 0.04
	focal     = 0.8 // of a phone's main camera, share of the frame's longer side: 28 mm on film
)

type tag struct {
	paper, code quad
	on          shape.Homography // to the code's square
	modules     [][]bool
	off         float32
}

// see returns the quad of the code grown by m of its widths on all sides.
func (t TagSpec) see(s Scene, x, y, width, m float64) (q quad) {
	sin, cos := math.Sincos(t.Angle * math.Pi / 180)
	back, up := math.Sincos(min(max(t.Tilt, -75), 75) * math.Pi / 180)
	f := focal * float64(max(s.Width, s.Height))
	away := f / width // in widths of the code
	for i, uv := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		u, v := uv[0]*(0.5+m), uv[1]*(0.5+m)
		k := f / max(away-v*back, away*0.2)
		u, v = u*k, v*up*k
		q[i] = [2]float64{x + u*cos - v*sin, y + u*sin + v*cos}
	}
	return q
}

// apart reports whether no corner or middle of the one lies within m of the other.
func (q quad) apart(o quad, m float64) bool {
	for i := range q {
		if q.clear(o[i][0], o[i][1]) < m || o.clear(q[i][0], q[i][1]) < m {
			return false
		}
	}
	a, b := q.middle(), o.middle()
	return q.clear(b[0], b[1]) > m && o.clear(a[0], a[1]) > m
}

// newTag places the tag where the scene says, or clear of the bloom and the
// card; nil: there is no tag, or no room for one.
func newTag(s Scene, r *rand.Rand, p *picture) *tag {
	if s.Tag == nil || len(s.Tag.Modules) == 0 || len(s.Tag.Modules[0]) == 0 {
		return nil
	}
	spec := *s.Tag
	if spec.Width <= 0 {
		spec.Width = 0.08
	}
	w, h := float64(s.Width), float64(s.Height)
	margin := (quietZone + 1) / float64(len(spec.Modules))
	t := &tag{modules: spec.Modules, off: float32(r.Float64() * 200)}
	lay := func(x, y, width float64) {
		t.code, t.paper = spec.see(s, x, y, width, 0), spec.see(s, x, y, width, margin)
		on := t.code.plane()
		t.on, _ = on.Inverse()
	}
	if spec.At != nil {
		lay(spec.At[0]*w, spec.At[1]*h, spec.Width*w)
		return t
	}
	for width := spec.Width * w; width > spec.Width*w/10; width *= 0.94 {
		for range 200 {
			lay(r.Float64()*w, r.Float64()*h, width)
			if !t.paper.within(s.Width, s.Height, 0.008*w) || p.card != nil && !t.paper.apart(p.card.edge, 0.02*w) {
				continue
			}
			if p.bloom == nil || t.paper.clear(float64(p.bloom.x), float64(p.bloom.y)) > 1.05*p.radius {
				return t
			}
		}
	}
	return nil
}

func (t *tag) paint(c *canvas, y0, y1 int) {
	soft := 7 * c.unit
	edges := t.paper.lines()
	c.each(y0, y1, t.paper.box(float64(soft)+2), func(i int, x, y float32) {
		if d := depth(edges, x+c.light[0]*soft*0.5, y+c.light[1]*soft*0.5)/soft + 1; d > 0 {
			c.shade[i] *= 1 - 0.40*min(d, 1)*min(d, 1)
		}
		k := clamp(depth(edges, x, y) + 0.5)
		if k == 0 {
			return
		}
		v := (paperY - (paperY-inkY)*t.ink(float64(x), float64(y))) * c.grain(x, y, t.off)
		c.put(i, k, rgb{v, v, v}, 1, 0)
	})
}

// ink is the share of a pixel that is printed, from 4 × 4 places in it.
func (t *tag) ink(x, y float64) float32 {
	const n = 4
	rows := len(t.modules)
	dark := 0
	for i := range n * n {
		u, v := t.on.Apply(x+(float64(i%n)+0.5)/n-0.5, y+(float64(i/n)+0.5)/n-0.5)
		if !(u >= 0 && v >= 0 && u < 1 && v < 1) { // so that NaN, of a tag of no size, stays out
			continue
		}
		row := t.modules[int(v*float64(rows))]
		if k := int(u * float64(len(t.modules[0]))); k < len(row) && row[k] {
			dark++
		}
	}
	return float32(dark) / (n * n)
}
