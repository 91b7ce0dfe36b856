package render

import (
	"math"
	"math/rand/v2"
)

// disc is the middle of an open head: florets on a spiral of golden angles, the inner ones still buds.
type disc struct {
	x, y, r float32
	florets []floret // inner ones last
	col     rgb
	ring    float32 // reach of the shadow at its foot
}

type floret struct {
	x, y, r float32
	col     rgb
	tall    float32
}

func newDisc(r *rand.Rand, x, y, radius float64, col rgb, unit float64) *disc {
	d := &disc{x: float32(x), y: float32(y), r: float32(radius), col: col, ring: float32(radius*0.25 + unit)}
	n := int(min(max(radius*radius/(unit*unit)/22, 14), 320))
	const golden = 2.399963229728653
	start := r.Float64() * 2 * math.Pi
	for i := n - 1; i >= 0; i-- {
		t := math.Sqrt((float64(i) + 0.5) / float64(n))
		sin, cos := math.Sincos(start + golden*float64(i))
		size := radius * 1.02 / math.Sqrt(float64(n)) * (0.75 + 0.35*t)
		q := radius * t * 0.97
		c := col.times(float32(0.94 + 0.14*r.NormFloat64()*0.7))
		if t < 0.55 { // buds are greener and darker
			k := float32((0.55 - t) * 1.1)
			c = c.mix(rgb{0.16, 0.17, 0.02}, k)
		}
		d.florets = append(d.florets, floret{
			x: float32(x + q*cos + r.NormFloat64()*size*0.06), y: float32(y + q*sin + r.NormFloat64()*size*0.06),
			r: float32(size * (1 + 0.08*r.NormFloat64())), col: c, tall: float32(0.8 + 0.4*t),
		})
	}
	return d
}

func (d *disc) paint(c *canvas, y0, y1 int) {
	m := d.r + d.ring
	c.each(y0, y1, around(d.x, d.y, m), func(i int, x, y float32) {
		dx, dy := x-d.x, y-d.y
		q := sqrt(dx*dx + dy*dy)
		if q > m {
			return
		}
		if t := 1 - (q-d.r)/d.ring; q > d.r {
			c.shade[i] *= 1 - 0.3*t*t
		}
		c.put(i, clamp(d.r*0.98-q+0.5), d.col.times(0.4), 0.7, 0)
	})
	for i := range d.florets {
		d.florets[i].paint(c, y0, y1)
	}
}

func (f *floret) paint(c *canvas, y0, y1 int) {
	c.each(y0, y1, around(f.x, f.y, f.r+1), func(i int, x, y float32) {
		dx, dy := x-f.x, y-f.y
		q := sqrt(dx*dx + dy*dy)
		k := clamp(f.r - q + 0.5)
		if k == 0 {
			return
		}
		t := q / f.r
		lit := (dx*c.light[0] + dy*c.light[1]) / f.r
		shade := f.tall * (1.02 + 0.30*lit - 0.28*t*t)
		if t < 0.35 && f.tall > 1.05 { // the open mouth
			shade *= 0.72
		}
		c.put(i, k, f.col, shade, 0)
	})
}
