package render

import (
	"math"
	"math/rand/v2"
)

// drop is water on a petal. The side toward the light is darker and the far side brighter, as the drop bends the light;
// the sky glints in it. It is drawn on petals of the main bloom alone, and they are seen through all but the glint.
type drop struct{ x, y, r float32 }

// newDew scatters n drops over the head.
func newDew(r *rand.Rand, h *head, n int, unit float64) []painter {
	out := make([]painter, 0, min(n, 2000))
	for range cap(out) {
		at := math.Sqrt(r.Float64()) * float64(h.r) * 0.96
		sin, cos := math.Sincos(r.Float64() * 2 * math.Pi)
		size := math.Max(float64(h.r)*(0.010+0.030*r.Float64()*r.Float64()), 2.2*unit)
		out = append(out, &drop{h.x + float32(at*cos), h.y + float32(at*sin), float32(size)})
	}
	return out
}

func (p *drop) paint(c *canvas, y0, y1 int) {
	c.each(y0, y1, around(p.x, p.y, p.r*1.4+1), func(i int, x, y float32) {
		if c.petal[i] < 0.5 {
			return
		}
		dx, dy := x-p.x, y-p.y
		q := sqrt(dx*dx+dy*dy) / p.r
		lit := (dx*c.light[0] + dy*c.light[1]) / p.r
		if q > 1 {
			if t := 1 - (q-1)/0.4; t > 0 {
				c.shade[i] *= 1 - 0.25*t*clamp(-lit)
			}
			return
		}
		k := clamp((1-q)*p.r + 0.5)
		c.shade[i] *= 1 - k*(0.26*lit+0.16*ease(0.72, 1, q))
		gx, gy := dx-c.light[0]*p.r*0.42, dy-c.light[1]*p.r*0.42
		if g := clamp(max(p.r*0.20, 0.8) - sqrt(gx*gx+gy*gy) + 0.5); g > 0 {
			c.put(i, g, rgb{1, 1, 1}, 3.5, 0)
			if g > 0.1 {
				c.petal[i] = 0
			}
		}
	})
}
