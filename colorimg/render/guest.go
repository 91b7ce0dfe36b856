package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// newGuest is a bee on the head: shapes from the lowest up.
func newGuest(r *rand.Rand, h *head) []painter {
	angle := r.Float64() * 2 * math.Pi
	at := (0.20 + 0.35*r.Float64()) * float64(h.r)
	sin, cos := math.Sincos(angle)
	g := guest{x: float64(h.x) + at*cos, y: float64(h.y) + at*sin, off: float32(r.Float64() * 200)}
	// It heads for the middle, more or less.
	g.sin, g.cos = math.Sincos(angle + math.Pi + 0.7*r.NormFloat64())
	g.long = float64(h.r) * (0.34 + 0.10*r.Float64())
	g.bee()
	return g.parts
}

// guest collects the parts of an insect of the length, whose places are given
// as shares of it, along the body and across.
type guest struct {
	x, y, cos, sin, long float64
	off                  float32
	parts                []painter
}

func (g *guest) at(u, v float64) (x, y float32) {
	u, v = u*g.long, v*g.long
	return float32(g.x + u*g.cos - v*g.sin), float32(g.y + u*g.sin + v*g.cos)
}

func (g *guest) blob(u, v, a, b, turn float64, col rgb) *blob {
	x, y := g.at(u, v)
	sin, cos := math.Sincos(turn)
	p := &blob{x: x, y: y, a: float32(a * g.long), b: float32(b * g.long), col: col, off: g.off,
		cos: float32(cos*g.cos - sin*g.sin), sin: float32(sin*g.cos + cos*g.sin)}
	g.parts = append(g.parts, p)
	return p
}

var (
	dark  = linear(cie.Lab{L: 13, A: 2, B: 4})
	amber = linear(cie.Lab{L: 56, A: 17, B: 46})
	fur   = linear(cie.Lab{L: 48, A: 12, B: 34})
	wing  = linear(cie.Lab{L: 72, A: 1, B: 8})
)

// bee: stripes on the abdomen, a furred thorax, two pairs of clear wings.
func (g *guest) bee() {
	a := g.blob(-0.26, 0, 0.28, 0.155, 0, amber)
	a.fuzz, a.gloss = 0.12, 0.2
	a.pattern = func(u, _ float32) (rgb, bool) { return dark, frac(u*2.4+0.15) > 0.48 || u < -0.86 }
	t := g.blob(0.10, 0, 0.16, 0.15, 0, fur)
	t.fuzz = 0.35
	g.blob(0.30, 0, 0.09, 0.11, 0, dark).gloss = 0.15
	for _, s := range [2]float64{-1, 1} {
		for k, w := range [2]float64{0.34, 0.25} {
			turn := s * (0.52 + 0.35*float64(k)) * -1
			sin, cos := math.Sincos(turn)
			p := g.blob(0.06-cos*w*0.9, 0.06*s-sin*w*0.9, w, w*0.34, turn, wing)
			p.clear, p.flat = 0.62, true
			p.pattern = func(u, v float32) (rgb, bool) { // veins
				return dark, abs(abs(v)-0.35-0.2*u) < 0.05 || u*u+v*v > 0.90
			}
		}
	}
}
