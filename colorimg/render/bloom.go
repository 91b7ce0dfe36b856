package render

import (
	"math"
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// head is one flower head.
type head struct {
	x, y, r float32
	blades  []*blade // farthest down first
	disc    *disc
	heart   float32 // radius of the deep middle that shows between petals
}

func (h *head) paint(c *canvas, y0, y1 int) {
	first := h.blades[0]
	c.each(y0, y1, around(h.x, h.y, h.heart), func(i int, x, y float32) {
		if c.top[i] < first.level && math.Hypot(float64(x-h.x), float64(y-h.y)) < float64(h.heart) {
			c.put(i, 1, first.col, 0.6, first.petal)
		}
	})
	for _, b := range h.blades {
		b.paint(c, y0, y1)
	}
	if h.disc != nil {
		h.disc.paint(c, y0, y1)
	}
}

// farthest is the distance from the middle to the farthest tip.
func (h *head) farthest() float64 {
	m := 0.0
	for _, b := range h.blades {
		x, y := b.tipPoint()
		m = max(m, math.Hypot(x-float64(h.x), y-float64(h.y)))
	}
	return m
}

// newHead builds the scene's kind of head at x, y with radius r. unit is the size of a fine stroke.
func newHead(s Scene, r *rand.Rand, x, y, radius, unit float64) *head {
	h := &head{x: float32(x), y: float32(y), r: float32(radius)}
	b := bloomer{h: h, s: s, rand: r, r: radius}
	n := s.Petals
	or := func(usual int) int {
		if n > 0 {
			return min(n, 400)
		}
		return usual
	}
	disc := 0.0
	switch s.Form {
	case Single:
		disc = 0.17
		k := or(8)
		if k > 10 {
			disc = 0.24
			b.ring(k, 0.93, disc*0.7, 1.05, 0)
			b.ring(k, 1, disc*0.7, 1.0, 0.5)
		} else {
			b.ring(k, 1, disc*0.5, 1.12, 0)
		}
	case SemiDouble:
		disc = 0.25
		k := or(19)
		for i, t := range []float64{1, 0.86, 0.71, 0.54} {
			b.ring(k-2*i, t, disc*0.6, 1.22, 0.5*float64(i))
		}
	case Double:
		b.spiral(or(96), false)
		disc = 0.06
		h.heart = float32(radius * 0.4)
	case Ball:
		h.heart = float32(radius * 0.4)
		b.spiral(or(150), true)
	case Spider:
		k := or(26)
		for i, t := range []float64{1, 0.93, 0.82, 0.68, 0.52, 0.36} {
			b.ring(max(k-3*i, 8), t, 0.04, 0.52, 0.5*float64(i))
		}
		disc = 0.08
	case Cactus:
		h.heart = float32(radius * 0.15)
		k := or(21)
		for i, t := range []float64{1, 0.95, 0.87, 0.76, 0.63, 0.50, 0.37, 0.25, 0.14} {
			b.ring(max(k-2*i, 5), t, 0.02, 0.86, 0.5*float64(i))
		}
	case Button:
		h.heart = float32(radius * 0.5)
		b.spiral(or(260), true)
	}
	b.tint()
	for _, p := range h.blades {
		p.reach = float32(radius * 0.045)
		p.petal = 1
	}
	if disc > 0 {
		h.disc = newDisc(r, x, y, radius*disc, linear(s.Center), unit)
	}
	return h
}

// bloomer fills a head with petals.
type bloomer struct {
	h    *head
	s    Scene
	rand *rand.Rand
	r    float64
}

func (b *bloomer) jitter(size float64) float64 { return (2*b.rand.Float64() - 1) * size }

// petal adds one of length long whose tip is at distance tip, both as shares of the head's radius.
func (b *bloomer) petal(angle, tip, long, half float64) *blade {
	sin, cos := math.Sincos(angle)
	p := &blade{
		x: b.h.x, y: b.h.y, cos: float32(cos), sin: float32(sin),
		from: float32((tip - long) * b.r), long: float32(long * b.r), half: float32(half * b.r),
		widest: float32(0.62 + b.jitter(0.05)), foot: 0.38, blunt: 2,
		bend: float32(b.jitter(0.05)),
		rise: -0.06, droop: 0.18, cup: 0.09, deep: 0.24, cast: 0.24,
		vein: 0.05, veins: 6, off: float32(b.rand.Float64() * 200),
	}
	b.h.blades = append(b.h.blades, p)
	return p
}

// ring adds a row of n petals with tips at the share tip of the radius, bases at from; crowd is their width over the
// room each has; turn is the share of a step by which the row is turned.
func (b *bloomer) ring(n int, tip, from, crowd, turn float64) {
	first := len(b.h.blades)
	turn += b.jitter(0.15)
	if first == 0 {
		turn = b.rand.Float64() * float64(n)
	}
	step := 2 * math.Pi / float64(n)
	for k := range n {
		// Every second petal lies below both its neighbours.
		i := (2 * k) % n
		if n%2 == 0 && 2*k >= n {
			i++
		}
		angle := (float64(i)+turn)*step + b.jitter(0.14)*step
		t := tip * (1 - 0.05*b.rand.Float64())
		p := b.petal(angle, t, t-from, (t*0.78)*step/2*crowd*(1+b.jitter(0.06)))
		p.bend *= float32(min(1, 8/float64(n)))
		switch {
		case b.s.Form == Spider:
			p.bend = float32(b.jitter(0.13))
			p.widest, p.foot, p.cup, p.veins = 0.7, 0.6, 0.12, 2.5
			p.blunt = 2
		case b.s.Form == Cactus: // rolled back: the middle is highest
			p.bend = float32(b.jitter(0.09))
			p.pointed, p.widest, p.foot = true, float32(0.36+b.jitter(0.06)), 0.5
			p.cup, p.veins, p.vein = -0.20, 3, 0.06
			p.deep, p.droop = 0.34, 0.24
		case n <= 10: // broad petals end in teeth
			p.teeth, p.notches = float32(0.045+0.03*b.rand.Float64()), float32(8+b.jitter(1.2))
			p.blunt, p.widest, p.veins, p.vein = 3, 0.66, 9, 0.055
			p.foot = 0.3
		default:
			p.blunt = 3
			p.teeth, p.notches = 0.018, float32(7+b.jitter(2))
		}
	}
}

// spiral adds n petals one golden angle apart, the outer ones first, so that each lies over those farther out.
func (b *bloomer) spiral(n int, globe bool) {
	const golden = 2.399963229728653 // π (3 - √5)
	start := b.rand.Float64() * 2 * math.Pi
	for i := range n {
		t := 1 - (float64(i)+0.5)/float64(n) // 1 at the rim
		angle := start + golden*float64(i) + b.jitter(0.07)
		var p *blade
		if globe {
			// The globe is seen from above; petals grow smaller to its pole.
			const power = 0.62
			sin, cos := math.Sincos(math.Pi / 2 * math.Pow(t, power))
			room := math.Sqrt(2 * math.Pi * sin * math.Pi / 2 * power * math.Pow(t, power-1) / float64(n))
			tip := (0.05 + 0.95*sin) * (1 + b.jitter(0.012))
			p = b.petal(angle, tip, room*(0.75+1.0*cos), room*0.66)
			p.cup, p.rise, p.droop, p.deep = 0.15, float32(0.14*sin-0.10), 0.05, 0.30
			p.blunt, p.widest, p.foot = 2, 0.55, 0.75
			if tip < 0.2 { // the whole petal shows
				p.foot = 0.2
			}
			p.veins = 3
			if b.s.Form == Button { // the globe shows more than its petals do
				p.cup, p.deep, p.rise = 0.12, 0.22, float32(0.20*sin-0.13)
			}
		} else {
			tip := (0.08 + 0.92*math.Pow(t, 0.62)) * (1 + b.jitter(0.025))
			long := 0.14 + 0.36*math.Pow(t, 0.8)
			p = b.petal(angle, tip, long, 0.055+0.105*math.Pow(t, 0.7))
			p.rise, p.droop = -0.08, float32(0.10+0.10*t)
			p.cup = 0.10
			p.foot, p.widest = 0.5, 0.58
			p.blunt = 2
			p.veins = 5
		}
	}
}

// tint gives each petal its own shade around the scene's petal colour, so that their mean is that colour.
func (b *bloomer) tint() {
	n := len(b.h.blades)
	// Pale petals differ less in hue than vivid ones, as the eye has it.
	k := 0.3 + 0.7*min(b.s.Petal.LCh().C/30, 1)
	shift := make([]cie.Lab, n)
	var mean cie.Lab
	for i := range shift {
		d := cie.Lab{L: 0.9 * b.rand.NormFloat64(), A: 0.7 * k * b.rand.NormFloat64(), B: 0.8 * k * b.rand.NormFloat64()}
		shift[i] = d
		mean.L, mean.A, mean.B = mean.L+d.L/float64(n), mean.A+d.A/float64(n), mean.B+d.B/float64(n)
	}
	var tip, eye *rgb
	if b.s.Tip != nil {
		c := linear(*b.s.Tip)
		tip = &c
	}
	if b.s.Eye != nil {
		c := linear(*b.s.Eye)
		eye = &c
	}
	for i, p := range b.h.blades {
		c, d := b.s.Petal, shift[i]
		p.col = linear(cie.Lab{L: c.L + d.L - mean.L, A: c.A + d.A - mean.A, B: c.B + d.B - mean.B})
		p.tip, p.eye, p.tipFrom, p.eyeTo = tip, eye, 0.84, 0.34
	}
}
