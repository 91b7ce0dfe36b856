package colorimg

import "math"

// usualFallOff is the prior standard deviation of the relative change of light from
// the middle of a photo to its edge. A guess; the gradient that the card shows is
// shrunk towards zero by it.
const usualFallOff = 0.1

// maxEvened bounds the correction: a larger one is due to a bent or
// partly shaded card, not to the light. Our own choice, as the two below.
const maxEvened = 0.25

// maxFallOff is the largest change of light from the middle of a photo to its edge
// that is corrected; where the card shows more, it is bent, or an edge of
// shade lies on it.
const maxFallOff = 0.25

// muchEvened is the correction at the bloom from which light is flagged as uneven
// although it was corrected.
const muchEvened = 0.1

// fallOff is a plane of light over the working picture: 1 at (x, y), the card's middle,
// and 1 + gx·Δx + gy·Δy elsewhere.
type fallOff struct{ x, y, gx, gy float64 }

// at returns the light at a working pixel relative to that on the card, within maxEvened of 1.
func (f fallOff) at(x, y float64) float64 {
	return min(max(1+f.gx*(x-f.x)+f.gy*(y-f.y), 1-maxEvened), 1+maxEvened)
}

// fallOff returns the gradient of the light that the card shows, shrunk towards zero according to its
// error and to usualFallOff. ok is false where it is too small to correct or too large; steep is true where
// it is larger than light can change across a photo.
func (m *measuring) fallOff() (f fallOff, ok, steep bool) {
	p := m.patch
	f.x, f.y = m.quad.Center()
	half := float64(max(m.im.W, m.im.H)) / 2
	prior := usualFallOff / half
	draw := func(g, se float64) float64 {
		if math.IsInf(se, 1) {
			return 0
		}
		z := g * g / (se * se)
		return g * prior * prior / (prior*prior + se*se) * z / (z + 4)
	}
	f.gx, f.gy = draw(p.Grad[0], p.GradSE[0]), draw(p.Grad[1], p.GradSE[1])
	much := math.Hypot(f.gx, f.gy) * half
	steep = much > maxFallOff && m.patch.Slope <= slopeUneven
	return f, much > 0.01 && much <= maxFallOff, steep
}

// even divides the working picture by the fall-off.
func (m *measuring) even(f fallOff) {
	W := m.im.W
	for y := range m.im.H {
		for x := range W {
			k := float32(1 / f.at(float64(x), float64(y)))
			for i := range 3 {
				m.im.Pix[3*(y*W+x)+i] *= k
			}
		}
	}
	m.evened = &f
}
