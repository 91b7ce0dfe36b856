package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// skins are tones from pale to dark; ranges of skin in Lab, from memory.
var skins = []cie.Lab{{L: 70, A: 11, B: 15}, {L: 63, A: 13, B: 19}, {L: 54, A: 14, B: 21}, {L: 44, A: 13, B: 20}, {L: 33, A: 10, B: 14}}

// newHand holds the stem where it leaves the frame, between the fingers, which
// lie under it, and the thumb, which lies over it. It stays clear of the head.
func newHand(s Scene, r *rand.Rand, h *head, reach float64, st *stem) (fingers, thumb []painter) {
	w, ht := float64(s.Width), float64(s.Height)
	short := min(w, ht)
	f := min(max(0.19*float64(h.r), 0.030*short), 0.055*short) // half a finger's width
	var x, y float64
	for t := 0.0; t <= 1; t += 0.01 {
		x, y, _ = st.at(t)
		if math.Hypot(x-float64(h.x), y-float64(h.y)) > reach+2.6*f && min(x, y, w-x, ht-y) < 4.5*f {
			break
		}
	}
	var dx, dy float64 // out of the frame by the nearest way
	switch min(x, y, w-x, ht-y) {
	case x:
		dx = -1
	case y:
		dy = -1
	case w - x:
		dx = 1
	default:
		dy = 1
	}
	side := float64(1 - 2*r.IntN(2))
	tone := skins[r.IntN(len(skins))]
	col := linear(tone)
	tip := linear(cie.Lab{L: tone.L + 2, A: tone.A + 4, B: tone.B - 2})
	limbs := func(u0, v0, r0, u1, v1, r1 float64) *limb {
		at := func(u, v float64) (float32, float32) { // u across, v outward
			u, v = u*side*f, v*f
			return float32(x - u*dy + v*dx), float32(y + u*dx + v*dy)
		}
		l := &limb{r0: float32(r0 * f), r1: float32(r1 * f), col: col, tip: tip, crease: true, cast: 0.8, off: float32(r.Float64() * 200)}
		l.x0, l.y0 = at(u0, v0)
		l.x1, l.y1 = at(u1, v1)
		return l
	}
	fingers = []painter{
		limbs(-5, 14, 5.5, 3, 13, 5.0), // the palm
		limbs(-6.5, 12.5, 1.25, 1.4, 5.9, 0.90),
		limbs(-6.5, 10.5, 1.25, 2.0, 3.6, 0.95),
		limbs(-6.5, 8.5, 1.25, 1.8, 1.2, 0.92),
	}
	l := limbs(6.5, 9.5, 1.7, -0.7, 0.2, 1.05)
	thumb = []painter{l}
	nx, ny := float64(l.x1-l.x0), float64(l.y1-l.y0)
	n := math.Hypot(nx, ny)
	nail := linear(cie.Lab{L: min(tone.L+9, 80), A: tone.A + 3, B: tone.B - 6})
	thumb = append(thumb, &blob{x: l.x1 + float32(nx/n*0.35*f), y: l.y1 + float32(ny/n*0.35*f), a: float32(0.62 * f),
		b:   float32(0.55 * f),
		cos: float32(nx / n), sin: float32(ny / n), col: nail, gloss: 0.25})
	return fingers, thumb
}
