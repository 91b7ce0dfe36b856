package colorimg

import "math"

// usualFallOff is how far the light of a photo usually changes from the middle
// of the frame to its edge, as a standard deviation of the share. It is a
// guess; what the card tells of the light's slope is drawn towards none by it.
const usualFallOff = 0.1

// maxEvened bounds the correction: a slope that says more is of a bent or
// half shaded card, not of the light.
const maxEvened = 0.25

// maxFallOff is the largest fall-off from the middle of the frame to its edge
// that is taken for the light's; a card that says more is bent, or an edge of
// shade lies on it.
const maxFallOff = 0.25

// muchEvened is the correction from which light counts as too uneven to be
// sure of, even so.
const muchEvened = 0.1

// fallOff is a plane of light over the working picture: 1 on the card's middle,
// and (1 + gx·Δx + gy·Δy) elsewhere.
type fallOff struct{ x, y, gx, gy float64 }

func (f fallOff) at(x, y float64) float64 {
	return min(max(1+f.gx*(x-f.x)+f.gy*(y-f.y), 1-maxEvened), 1+maxEvened)
}

// fallOff is the light's slope as the card shows it, drawn towards none by what is
// usual and by how sure it is. ok is false when there is nothing in it, steep is true
// when there is more than light can have across a frame.
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

// even takes the fall-off out of the working picture.
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
