package colorimg

import (
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// shadeRatio is the ratio of luminance between the ground beside the bloom and the
// same ground beside the card, or the inverse, from which card and
// bloom count as in different light. Our own choice: well above the
// fall-off of light across a photo, and the least shade that matters.
const shadeRatio = 1.22

// shaded returns the luminance of the ground around the bloom relative to the same ground
// around the card. ok is false where there is too little of one even ground around both
// to tell: leaves, the picture's edge, two different boards.
func (m *measuring) shaded() (ratio float64, ok bool) {
	cardNear, cardFar := m.outer.Shrunk(1.3), m.outer.Shrunk(2.1)
	b := m.bloom
	var atCard, atBloom []ground
	const step = 4
	W, H := m.im.W, m.im.H
	usable := func(x, y int) bool {
		i := y*W + x
		return x%step == 0 && y%step == 0 && b.Head[i] == 0 && m.im.Clipped[i] <= 20
	}
	cardFar.Each(W, H, func(x, y int) {
		if usable(x, y) && m.away(x, y) > 1.1 && !cardNear.Contains(float64(x), float64(y)) {
			atCard = append(atCard, m.ground(y*W+x))
		}
	})
	first := func(v float64) int { return (max(0, int(v)) + step - 1) / step * step }
	m.around(1.45, step, first, func(x, y int, away float64) {
		if usable(x, y) && away < 1.45 && !cardFar.Contains(float64(x), float64(y)) {
			atBloom = append(atBloom, m.ground(y*W+x))
		}
	})
	if len(atCard) < 25 || len(atBloom) < 50 {
		return 0, false
	}
	u, v := hue(atCard)
	// Shade is bluer than sun, so the ground around the bloom may differ a little more in colour.
	card, bloom := alike(atCard, u, v, 5), alike(atBloom, u, v, 9)
	if len(card)*10 < len(atCard)*7 || len(bloom)*10 < len(atBloom)*4 {
		return 0, false
	}
	c, oc := light(card)
	p, op := light(bloom)
	// On an uneven ground, such as soil or wood, only a larger difference counts.
	even := oc <= 0.22 && op <= 0.30
	return math.Exp(p - c), even || math.Abs(p-c) > 1.5*max(oc, op)
}

// ground is one pixel beside card or bloom: its luminance, and its a* and b* without
// shading (scaled to L* + 16 = 60).
type ground struct{ y, u, v float64 }

// ground returns working pixel i as ground.
func (m *measuring) ground(i int) ground {
	p, g := m.im.Pix[3*i:], m.gains
	x := cie.SRGB.XYZ(cie.RGB{float64(p[0]) * g[0], float64(p[1]) * g[1], float64(p[2]) * g[2]})
	c := x.Lab()
	k := 60 / max(c.L+16, 1)
	return ground{x.Y, c.A * k, c.B * k}
}

// alike returns the pixels whose colour lies within a distance of (u, v).
func alike(gs []ground, u, v, within float64) []ground {
	var out []ground
	for _, g := range gs {
		if math.Hypot(g.u-u, g.v-v) < within {
			out = append(out, g)
		}
	}
	return out
}

// middleOf returns the median of a property of the pixels.
func middleOf(gs []ground, of func(ground) float64) float64 {
	v := make([]float64, len(gs))
	for i, g := range gs {
		v[i] = of(g)
	}
	return robust.Median(v)
}

// hue returns the medians of u and v.
func hue(gs []ground) (u, v float64) {
	return middleOf(gs, func(g ground) float64 { return g.u }), middleOf(gs, func(g ground) float64 { return g.v })
}

// light returns the median of the logarithms of luminance, and their robust standard deviation.
func light(gs []ground) (mid, off float64) {
	of := func(g ground) float64 { return math.Log(max(g.y, 1e-5)) }
	mid = middleOf(gs, of)
	return mid, 1.4826 * middleOf(gs, func(g ground) float64 { return math.Abs(of(g) - mid) })
}

// away returns the distance of a working pixel from the bloom's middle, in radii of the bloom.
func (m *measuring) away(x, y int) float64 {
	return math.Hypot(float64(x)-m.bloom.Center[0], float64(y)-m.bloom.Center[1]) / m.bloom.Radius
}

// around calls f for every step-th pixel that is not bloom and lies more than 1.1 radii from the bloom's middle, in a square
// that reaches far radii on every side; first rounds the first coordinate.
func (m *measuring) around(far float64, step int, first func(float64) int, f func(x, y int, away float64)) {
	b, r := m.bloom, far*m.bloom.Radius
	for y := first(b.Center[1] - r); y < min(m.im.H, int(b.Center[1]+r)); y += step {
		for x := first(b.Center[0] - r); x < min(m.im.W, int(b.Center[0]+r)); x += step {
			if d := m.away(x, y); b.Head[y*m.im.W+x] == 0 && d > 1.1 {
				f(x, y, d)
			}
		}
	}
}

// cardSplit reports whether an edge of shade seems to cross the card: the even ground around it is much lighter on
// one side than on the other, and either in two plain steps, as a shadow's edge leaves one ground, or with the card's
// own face in a slope as well. A backdrop that darkens little by little behind an even face is no change of light.
func (m *measuring) cardSplit() bool {
	near, far := m.outer.Shrunk(1.25), m.outer.Shrunk(1.9)
	cx, cy := m.outer.Center()
	const parts = 8
	var at [parts][]ground
	var all []ground
	far.Each(m.im.W, m.im.H, func(x, y int) {
		i := y*m.im.W + x
		if x%2 != 0 || y%2 != 0 || near.Contains(float64(x), float64(y)) || m.im.Clipped[i] > 20 ||
			m.bloom != nil && m.bloom.Head[i] != 0 {
			return
		}
		g := m.ground(i)
		k := int((math.Atan2(float64(y)-cy, float64(x)-cx)/(2*math.Pi)+1)*parts) % parts
		at[k] = append(at[k], g)
		all = append(all, g)
	})
	if len(all) < 80 {
		return false
	}
	u, v := hue(all)
	var mids []float64
	for _, gs := range at {
		// Shade is bluer than sun.
		same := alike(gs, u, v, 10)
		if len(same) < 10 || len(same)*10 < len(gs)*7 {
			continue
		}
		if mid, off := light(same); off <= 0.15 {
			mids = append(mids, mid)
		}
	}
	if len(mids) < 5 {
		return false
	}
	slices.Sort(mids)
	return mids[len(mids)-1]-mids[0] > math.Log(cardSplitRatio) && (twoSteps(mids) || !m.faceEven())
}

// cardSplitRatio is the ratio of luminance between two sides of the ground around the
// card from which a shadow's edge is likely. Our own choice.
const cardSplitRatio = 1.35

// twoSteps reports whether the light, logarithms in order, stands at two levels
// and nowhere between: the one step is that of a shade, and either level strays by half of it at most.
func twoSteps(l []float64) bool {
	at, gap := 1, 0.0
	for i := 1; i < len(l); i++ {
		if d := l[i] - l[i-1]; d > gap {
			at, gap = i, d
		}
	}
	return gap > math.Log(cardSplitRatio) && max(l[at-1]-l[0], l[len(l)-1]-l[at]) < gap/2
}

// evenFace is the change of light across the face of a card, as a share of it, under
// which it is plainly even: light that makes the ground around a card cardSplitRatio
// times as bright on one side changes by five times as much. Our own choice.
const evenFace = 0.03

// faceEven reports whether the card's own face shows that its light does not change.
func (m *measuring) faceEven() bool {
	p, side := m.patch, math.Sqrt(m.quad.Area())
	return math.Hypot(p.Grad[0], p.Grad[1])*side < evenFace && 2*math.Hypot(p.GradSE[0], p.GradSE[1])*side < evenFace
}

// doubtful reports whether what was taken for the bloom may not be one: it lies
// around the card, or has the hue of the ground around it and is darker, like a
// shadow.
func (m *measuring) doubtful() bool {
	b := m.bloom
	if m.Card.Found {
		near, far := m.outer.Shrunk(1.25), m.outer.Shrunk(1.7)
		n, in := 0, 0
		far.Each(m.im.W, m.im.H, func(x, y int) {
			if !near.Contains(float64(x), float64(y)) {
				n++
				if b.Head[y*m.im.W+x] != 0 {
					in++
				}
			}
		})
		if in*2 > n {
			return true
		}
	}
	var around []ground
	step := max(2, int(1.5*b.Radius/35)) // some two thousand of them
	m.around(1.5, step, func(v float64) int { return max(0, int(v)) }, func(x, y int, _ float64) {
		around = append(around, m.ground(y*m.im.W+x))
	})
	if len(around) < 80 {
		return false
	}
	c := m.Lab.Lab()
	k := 60 / (c.L + 16)
	same := alike(around, c.A*k, c.B*k, 6)
	mid, _ := light(same)
	return len(same)*10 > len(around)*6 && c.XYZ().Y < 0.8*math.Exp(mid)
}
