package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// newLeaf is a leaf from x, y toward the angle.
func newLeaf(r *rand.Rand, x, y, angle, long, width float64) *blade {
	sin, cos := math.Sincos(angle)
	lab := cie.LCh{L: 41 + 6*r.NormFloat64(), C: 29 + 4*r.NormFloat64(), H: 123 + 4*r.NormFloat64()}
	lab.L = min(max(lab.L, 29), 55)
	return &blade{
		x: float32(x), y: float32(y), cos: float32(cos), sin: float32(sin), long: float32(long), half: float32(long * width),
		widest: float32(0.36 + 0.14*r.Float64()), foot: 0.06, pointed: true, bend: float32(0.09 * r.NormFloat64()),
		rise: 0.10, droop: -0.26, cup: -0.16, deep: 0.12, cast: 0.34, reach: float32(long * 0.10),
		vein: 0.22, veins: 5, leaf: true, col: linear(lab.Lab()), off: float32(r.Float64() * 200),
	}
}

// stem is a tapering curve of three points, drawn as short straight pieces.
type stem struct {
	x, y   [stemPoints]float32
	r0, r1 float32 // half width at the head and at the far end
	col    rgb
}

const stemPoints = 13

func newStem(x0, y0, x1, y1, x2, y2, r0, r1 float64, col rgb) *stem {
	s := &stem{r0: float32(r0), r1: float32(r1), col: col}
	for i := range stemPoints {
		t := float64(i) / (stemPoints - 1)
		a, b, c := (1-t)*(1-t), 2*t*(1-t), t*t
		s.x[i], s.y[i] = float32(a*x0+b*x1+c*x2), float32(a*y0+b*y1+c*y2)
	}
	return s
}

// at is the point and direction at share t of the length.
func (s *stem) at(t float64) (x, y, angle float64) {
	i := min(int(t*(stemPoints-1)), stemPoints-2)
	return float64(s.x[i]), float64(s.y[i]), math.Atan2(float64(s.y[i+1]-s.y[i]), float64(s.x[i+1]-s.x[i]))
}

func (s *stem) paint(c *canvas, y0, y1 int) {
	m := s.r1*2.6 + 2
	var near [stemPoints - 1]piece // those that row y may be within m of
	for y := y0; y < y1; y++ {
		at := near[:0]
		left, right := c.w, 0
		for i := range near {
			p := piece{i, s.x[i], s.y[i], s.x[i+1] - s.x[i], s.y[i+1] - s.y[i]}
			box := around(p.x, p.y, m+1).Union(around(s.x[i+1], s.y[i+1], m+1))
			if box.Min.Y <= y && y < box.Max.Y {
				at = append(at, p)
				left, right = min(left, max(box.Min.X, 0)), max(right, min(box.Max.X, c.w))
			}
		}
		for x := left; x < right; x++ {
			s.pixel(c, at, y*c.w+x, float32(x), float32(y), m)
		}
	}
}

// piece is the straight piece of a stem from its point i, at x, y.
type piece struct {
	i          int
	x, y, w, h float32
}

func (s *stem) pixel(c *canvas, near []piece, at int, x, y, m float32) {
	best, side, along := float32(1e18), float32(0), float32(0)
	for _, p := range near {
		px, py := x-p.x, y-p.y
		t := clamp((px*p.w + py*p.h) / (p.w*p.w + p.h*p.h))
		ex, ey := px-t*p.w, py-t*p.h
		if d := ex*ex + ey*ey; d < best {
			best, along = d, (float32(p.i)+t)/(stemPoints-1)
			side = ex*c.light[0] + ey*c.light[1]
		}
	}
	d := sqrt(best)
	if d > m {
		return
	}
	r := s.r0 + (s.r1-s.r0)*along
	if d > r && d < 2.5*r {
		t := 1 - (d-r)/(1.5*r)
		c.shade[at] *= 1 - 0.42*t*t*clamp(0.55-side/d)
	}
	if k := clamp(r - d + 0.5); k > 0 {
		q := d / r
		c.put(at, k, s.col, 0.92+0.26*side/r-0.14*q*q+0.05*noise(along*90, side), 0)
	}
}
