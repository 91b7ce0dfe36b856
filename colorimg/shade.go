package colorimg

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// shadeRatio is how many times as bright the ground beside the bloom must be
// as the same ground beside the card, or the other way round, before card and
// bloom count as lying in different light. Our own choice: well above the
// fall-off of light across a frame, and the least shade that matters.
const shadeRatio = 1.22

// shaded compares the ground around the card with the same ground around the
// bloom. ok is false when there is too little of one even ground around both
// to tell: leaves, a picture's edge, two different boards.
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
	away := func(x, y int) float64 { // from the bloom's middle, in its radii
		return math.Hypot(float64(x)-b.Center[0], float64(y)-b.Center[1]) / b.Radius
	}
	cardFar.Each(W, H, func(x, y int) {
		if usable(x, y) && away(x, y) > 1.1 && !cardNear.Contains(float64(x), float64(y)) {
			atCard = append(atCard, m.ground(y*W+x))
		}
	})
	r := 1.45 * b.Radius
	first := func(v float64) int { return (max(0, int(v)) + step - 1) / step * step }
	for y := first(b.Center[1] - r); y < min(H, int(b.Center[1]+r)); y += step {
		for x := first(b.Center[0] - r); x < min(W, int(b.Center[0]+r)); x += step {
			if !usable(x, y) {
				continue
			}
			if d := away(x, y); d > 1.1 && d < 1.45 && !cardFar.Contains(float64(x), float64(y)) {
				atBloom = append(atBloom, m.ground(y*W+x))
			}
		}
	}
	if len(atCard) < 25 || len(atBloom) < 50 {
		return 0, false
	}
	u, v := middleOf(atCard, func(g ground) float64 { return g.u }), middleOf(atCard, func(g ground) float64 { return g.v })
	// Shade is bluer than sun, so the bloom's ground may differ a little more.
	card, bloom := alike(atCard, u, v, 5), alike(atBloom, u, v, 9)
	if len(card)*10 < len(atCard)*7 || len(bloom)*10 < len(atBloom)*4 {
		return 0, false
	}
	light := func(g ground) float64 { return math.Log(max(g.y, 1e-5)) }
	c, p := middleOf(card, light), middleOf(bloom, light)
	// An uneven ground, soil or wood, says less.
	off := func(gs []ground, mid float64) float64 {
		return 1.4826 * middleOf(gs, func(g ground) float64 { return math.Abs(light(g) - mid) })
	}
	oc, op := off(card, c), off(bloom, p)
	even := oc <= 0.22 && op <= 0.30
	return math.Exp(p - c), even || math.Abs(p-c) > 1.5*max(oc, op)
}

// ground is one pixel beside card or bloom: its light, and its a* and b* with
// the shading taken out.
type ground struct{ y, u, v float64 }

func (m *measuring) ground(i int) ground {
	p, g := m.im.Pix[3*i:], m.gains
	x := cie.SRGB.XYZ(cie.RGB{float64(p[0]) * g[0], float64(p[1]) * g[1], float64(p[2]) * g[2]})
	c := x.Lab()
	k := 60 / max(c.L+16, 1)
	return ground{x.Y, c.A * k, c.B * k}
}

func alike(gs []ground, u, v, within float64) []ground {
	var out []ground
	for _, g := range gs {
		if math.Hypot(g.u-u, g.v-v) < within {
			out = append(out, g)
		}
	}
	return out
}

func middleOf(gs []ground, of func(ground) float64) float64 {
	v := make([]float64, len(gs))
	for i, g := range gs {
		v[i] = of(g)
	}
	return robust.Median(v)
}

// cardSplit reports whether an edge of shade seems to cross the card: the even
// ground around it is much lighter on one side than on the other.
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
	u, v := middleOf(all, func(g ground) float64 { return g.u }), middleOf(all, func(g ground) float64 { return g.v })
	light := func(g ground) float64 { return math.Log(max(g.y, 1e-5)) }
	lo, hi, seen := math.Inf(1), math.Inf(-1), 0
	for _, gs := range at {
		// Shade is bluer than sun.
		same := alike(gs, u, v, 10)
		if len(same) < 10 || len(same)*10 < len(gs)*7 {
			continue
		}
		mid := middleOf(same, light)
		if 1.4826*middleOf(same, func(g ground) float64 { return math.Abs(light(g) - mid) }) > 0.15 {
			continue
		}
		lo, hi = min(lo, mid), max(hi, mid)
		seen++
	}
	return seen >= 5 && hi-lo > math.Log(cardSplitRatio)
}

// cardSplitRatio is how many times as bright one side of the ground around the
// card must be for a shadow's edge to be likely on it. Our own choice.
const cardSplitRatio = 1.35

// doubtful reports whether what was taken for the bloom may be none: it lies
// around the card, or has the hue of the ground around it, only darker, as a
// shadow has.
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
	r := 1.5 * b.Radius
	step := max(2, int(r/35)) // some two thousand of them
	for y := max(0, int(b.Center[1]-r)); y < min(m.im.H, int(b.Center[1]+r)); y += step {
		for x := max(0, int(b.Center[0]-r)); x < min(m.im.W, int(b.Center[0]+r)); x += step {
			if i := y*m.im.W + x; b.Head[i] == 0 && math.Hypot(float64(x)-b.Center[0], float64(y)-b.Center[1]) > 1.1*b.Radius {
				around = append(around, m.ground(i))
			}
		}
	}
	if len(around) < 80 {
		return false
	}
	c := m.Lab.Lab()
	k := 60 / (c.L + 16)
	same := alike(around, c.A*k, c.B*k, 6)
	return len(same)*10 > len(around)*6 &&
		c.XYZ().Y < 0.8*math.Exp(middleOf(same, func(g ground) float64 { return math.Log(max(g.y, 1e-5)) }))
}
