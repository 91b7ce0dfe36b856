package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// Gains returns what light of the colour temperature does to the linear red, green and blue of a picture balanced for
// D65; green is 1 before the tint. See [cie.Daylight] for the temperatures that there are.
func Gains(kelvin, tint float64) [3]float64 {
	c := cie.SRGB.RGB(cie.Daylight(kelvin))
	return [3]float64{c[0] / c[1], tint, c[2] / c[1]}
}

// lamp is how much light falls on each place of the frame.
type lamp struct {
	w, h     float32
	gx, gy   float32 // gradient
	vignette float32
	shadow   float32
	sx, sy   float32 // middle of the patch of shade
	sr       float32
	off      float32
	edge     *edge // nil: none
}

func newLamp(s Scene, r *rand.Rand) *lamp {
	sin, cos := math.Sincos(r.Float64() * 2 * math.Pi)
	w, h := float64(s.Width), float64(s.Height)
	l := &lamp{
		w: float32(w), h: float32(h), gx: float32(s.Gradient * cos), gy: float32(s.Gradient * sin),
		vignette: float32(s.Vignette), shadow: float32(s.Shadow),
		sx: float32(s.ShadowAt[0] * w), sy: float32(s.ShadowAt[1] * h), sr: float32(min(w, h) / 3), off: float32(r.Float64() * 200),
	}
	if s.Edge != nil {
		l.edge = newEdge(s, float32(r.Float64()*200))
	}
	return l
}

func (l *lamp) at(x, y float32) float32 {
	u, v := 2*(x+0.5)/l.w-1, 2*(y+0.5)/l.h-1
	k := 1 + l.gx*u + l.gy*v
	if l.vignette != 0 {
		q := (u*u + v*v) / 2
		k *= 1 - l.vignette*q*q
	}
	if l.shadow != 0 || l.edge != nil {
		k *= l.open(x, y)
	}
	return k
}

// open is the share of the light that no shadow takes.
func (l *lamp) open(x, y float32) float32 {
	k := float32(1)
	if l.shadow != 0 {
		dx, dy := (x-l.sx)/l.sr, (y-l.sy)/l.sr
		q := sqrt(dx*dx+dy*dy) + 0.18*noise(dx*1.3+l.off, dy*1.3)
		k = 1 - l.shadow*(1-ease(0.82, 1.12, q))
	}
	if l.edge != nil {
		k *= 1 - l.edge.depth*l.edge.in(x, y)
	}
	return k
}
