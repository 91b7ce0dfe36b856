package render

import (
	"image"
	"io"
	"math"
	"math/rand/v2"
	"slices"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/rows"
)

// Draw returns the photo of the scene and what a perfect measurement of it would find. It depends on s alone.
func Draw(s Scene) (*image.NRGBA, Truth) {
	fill()
	s = s.with()
	return compose(s).draw(s)
}

func (p *picture) draw(s Scene) (*image.NRGBA, Truth) {
	c := newCanvas(s.Width, s.Height)
	c.light = p.light
	if s.Browned > 0 || s.Faded > 0 {
		c.brown, c.fade = make([]float32, len(c.petal)), make([]float32, len(c.petal))
	}
	blades := p.blades()
	rows.Split(c.h, func(y0, y1 int) {
		// What a blade hides need not be painted; how far petals have withered goes on from what lies below.
		for i := len(blades) - 1; i >= 0 && c.brown == nil; i-- {
			blades[i].hide(c, y0, y1)
		}
		for _, q := range p.below {
			q.paint(c, y0, y1)
		}
		p.shadow.darken(c, y0, y1)
		for _, q := range p.above {
			q.paint(c, y0, y1)
		}
	})
	t := p.truth(s, c)
	gains := rgb{float32(t.Gains[0]), float32(t.Gains[1]), float32(t.Gains[2])}
	gains = gains.times(float32(math.Exp2(s.EV)))
	rows.Split(c.h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			for x := range c.w {
				i := y*c.w + x
				k := c.shade[i] * p.lamp.at(float32(x), float32(y))
				g := gains
				if p.lamp.edge != nil {
					g = g.by(p.lamp.color(float32(x), float32(y)))
				}
				v := &c.refl[i]
				v[0], v[1], v[2] = v[0]*k*g[0], v[1]*k*g[1], v[2]*k*g[2]
			}
		}
	})
	blur(c.refl, c.w, c.h, s.Blur*float64(c.unit))
	return expose(c.refl, c.w, c.h, s.Noise, s.Seed, newDeveloper(s.Phone)), t
}

// JPEG writes the photo of the scene at the quality, 1 to 100, and returns what a perfect measurement would find.
func (s Scene) JPEG(w io.Writer, quality int) (Truth, error) {
	im, t := Draw(s)
	return t, photo.EncodeJPEG(w, im, quality)
}

// picture is a scene with every choice made.
type picture struct {
	light  [2]float32
	lamp   *lamp
	below  []painter // what the bloom's shadow falls on
	above  []painter
	shadow *softShadow
	bloom  *head // nil: none
	card   *card // nil: none
	tag    *tag
	radius float64
}

// blades are all blades from the ground up, numbered so.
func (p *picture) blades() (all []*blade) {
	for _, q := range slices.Concat(p.below, p.above) {
		switch q := q.(type) {
		case *blade:
			all = append(all, q)
		case *head:
			all = append(all, q.blades...)
		}
	}
	for i, b := range all {
		b.level = int16(i + 1)
	}
	return all
}

// compose makes the choices that the scene leaves to its seed. Each subject
// has its own stream, so that a change of one leaves the others as they are.
func compose(s Scene) *picture {
	stream := func(n uint64) *rand.Rand { return rand.New(rand.NewPCG(uint64(s.Seed), n)) }
	w, h := float64(s.Width), float64(s.Height)
	unit := w / 1600
	short := min(w, h)
	p := &picture{}
	r := stream(1)
	// Light from above the frame, more often from the left.
	sin, cos := math.Sincos((-120 + 28*r.NormFloat64()) * math.Pi / 180)
	p.light = [2]float32{float32(cos), float32(sin)}
	p.lamp = newLamp(s, r)

	x, y, radius := s.At[0]*w, s.At[1]*h, s.Diameter*short/2
	var taken []circle
	if !s.NoBloom {
		p.bloom = newHead(s, stream(2), x, y, radius, unit)
		if s.Browned > 0 || s.Faded > 0 {
			p.bloom.wither(s, stream(8))
		}
		p.radius = p.bloom.farthest()
		taken = append(taken, circle{x, y, p.radius * 1.04})
	}
	if !s.Card.None {
		r := stream(3)
		if edge, ok := PlaceCard(s, r, x, y, p.radius); ok {
			p.card = newCard(s, r, edge)
		}
	}

	p.tag = newTag(s, stream(12), p)

	g := stream(4)
	ground := newGround(s, g)
	p.below = append(p.below, ground)
	if !s.Ground.Plain() {
		for range 420 {
			p.below = append(p.below, newStone(g, s.Width, s.Height, unit, ground.col))
		}
	}
	p.foliage(s, stream(5), short)
	others := p.others(s, stream(6), taken, unit)
	heads := others
	if p.bloom != nil {
		p.stalk(s, stream(7), stream(11), short)
		heads = append([]*head{p.bloom}, others...)
	}
	p.shadow = castShadow(p, s, heads)
	if p.card != nil {
		p.above = append(p.above, p.card)
	}
	if p.tag != nil {
		p.above = append(p.above, p.tag)
	}
	for _, o := range others {
		p.above = append(p.above, o)
	}
	if p.bloom != nil {
		p.above = append(p.above, p.bloom)
		p.above = append(p.above, newDew(stream(10), p.bloom, max(s.Dew, 0), unit)...)
		if s.Bee {
			p.above = append(p.above, newGuest(stream(9), p.bloom)...)
		}
	}
	return p
}

type circle struct{ x, y, r float64 }

// foliage scatters leaves over the ground of a garden.
func (p *picture) foliage(s Scene, r *rand.Rand, short float64) {
	n := 0
	switch s.Ground {
	case Soil:
		n = 16
	case Leaves:
		n = 110
	}
	for i := range n {
		long := short * (0.13 + 0.17*r.Float64())
		x, y := r.Float64()*float64(s.Width), r.Float64()*float64(s.Height)
		leaf := newLeaf(r, x, y, r.Float64()*2*math.Pi, long, 0.15+0.09*r.Float64())
		k := float32(0.62 + 0.38*float64(i)/float64(n)) // the lower ones are in the dark
		leaf.col = leaf.col.times(k)
		p.below = append(p.below, leaf)
	}
}

// others places the further blooms, clear of the main one, the card and the tag.
func (p *picture) others(s Scene, r *rand.Rand, taken []circle, unit float64) []*head {
	var out []*head
	for range min(s.Blooms, 12) {
		for range 200 {
			radius := s.Diameter * min(float64(s.Width), float64(s.Height)) / 2 * (0.42 + 0.3*r.Float64())
			x, y := r.Float64()*float64(s.Width), r.Float64()*float64(s.Height)
			ok := p.card == nil || p.card.edge.clear(x, y) > radius*1.08
			ok = ok && (p.tag == nil || p.tag.paper.clear(x, y) > radius*1.08)
			for _, c := range taken {
				ok = ok && math.Hypot(x-c.x, y-c.y) > c.r+radius*1.08
			}
			if !ok {
				continue
			}
			h := newHead(s, r, x, y, radius, unit)
			for _, b := range h.blades {
				b.petal = 0
			}
			out = append(out, h)
			taken = append(taken, circle{x, y, radius * 1.04})
			break
		}
	}
	return out
}

// stalk lays the main bloom's stem, with a few leaves, from under the head to
// the edge of the frame, away from the card, and the hand that may hold it.
func (p *picture) stalk(s Scene, r, hand *rand.Rand, short float64) {
	x, y := float64(p.bloom.x), float64(p.bloom.y)
	angle := math.Pi/2 + 0.35*r.NormFloat64()
	if p.card != nil {
		m := p.card.edge.middle()
		to := math.Atan2(m[1]-y, m[0]-x)
		if d := math.Remainder(angle-to, 2*math.Pi); math.Abs(d) < 0.8 {
			angle = to + math.Copysign(0.8+0.3*r.Float64(), d)
		}
	}
	far := math.Hypot(float64(s.Width), float64(s.Height))
	sin, cos := math.Sincos(angle)
	bow := 0.10 * far * r.NormFloat64() * 0.6
	st := newStem(x, y, x+cos*far*0.4-sin*bow, y+sin*far*0.4+cos*bow, x+cos*far*0.9, y+sin*far*0.9,
		short*0.0085, short*0.0105, linear(cie.LCh{L: 44, C: 30, H: 122}.Lab()))
	if s.Hand {
		fingers, thumb := newHand(s, hand, p.bloom, p.radius, st)
		p.below = append(p.below, fingers...)
		defer func() { p.below = append(p.below, thumb...) }()
	}
	p.below = append(p.below, st)
	for i := range 3 {
		t := (p.radius*0.6 + float64(i)*short*0.13 + short*0.05*r.Float64()) / (far * 0.9)
		if t > 0.9 {
			break
		}
		lx, ly, a := st.at(t)
		side := float64(1 - 2*(i%2))
		leaf := newLeaf(r, lx, ly, a+side*(0.75+0.2*r.Float64()), short*(0.20+0.06*r.Float64()), 0.16+0.04*r.Float64())
		if p.card != nil {
			tx, ty := leaf.tipPoint()
			if p.card.edge.clear(tx, ty) < short*0.05 {
				continue
			}
		}
		p.below = append(p.below, leaf)
	}
}
