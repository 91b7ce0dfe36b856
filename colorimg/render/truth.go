package render

import (
	"image"
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// Truth is what a perfect measurement of a drawn scene would find.
type Truth struct {
	// Petal is the median, component by component, of the Lab of the visible petal surface, each petal's own variation
	// included and shading left out. Seen has the shading and uneven light in as well: the light on the card's middle,
	// or without a card on the frame's, is taken as 1. Medians are over at least 20 000 petal pixels where there are as
	// many, those that have browned left out. Petal is the colour before the petals faded; where hardly any of that is
	// left, it is the scene's. Seen has faded.
	Petal, Seen cie.Lab

	// Browned and Faded are shares of Mask: brown; and not brown, but more than
	// 0.15 of the way to bleached.
	Browned, Faded float64

	Mask    *image.Gray // 255 where petal of the main bloom, withered or not, insects and glints left out; as large as the picture
	Pixels  int         // how many those are
	Clipped float64     // share of them with a channel outside 0..1 before noise, or by the phone's saturation
	Bloom   [2]float64  // middle of the main bloom
	Radius  float64     // from there to the farthest tip
	// corners of the grey patch, clockwise, of a strip the middle one; zero without a card or room for one, and of a chart
	Card    [4][2]float64
	Edge    [4][2]float64    // corners of the card, its border included
	Strip   [3][4][2]float64 // corners of a strip's white, grey and black
	Chart   [4][2]float64    // outer corners of a chart's patches, from the first patch's, clockwise
	Patches [][4][2]float64  // corners of each of a chart's patches, in the order of its colours
	// corners of the tag\'s code without its quiet zone, clockwise from its own upper left; zero without a tag or room for one
	Tag     [4][2]float64
	TagEdge [4][2]float64 // corners of its paper
	Gains   [3]float64    // of the light, linear red, green, blue; exposure not included

	// Shaded and CardShaded are the shares of Mask and of the card from which
	// shadows ([Scene.Shadow], [Scene.Edge]) take more than a tenth of the light.
	Shaded, CardShaded float64

	// Measurable tells that a right number can be asked for, even when the light falls off and the phone meddles. It is
	// false, and Doubt says why, where a flag or a refusal is wanted instead: no card or no petals in sight; a shadow's
	// edge on the card, its darkest place having less than
	// 0.9 of the light of its brightest; from 20 to 80 % of the petals shaded;
	// most petals in a light that differs from the card's by more than a tenth;
	// or more than a quarter of the petals clipped.
	Measurable bool
	Doubt      string
}

// truth reads the answer off the painted canvas, after it has scaled the petals' shading so that their median luminance
// is that of their surface: shading then moves the petals' middle colour as little as it can.
func (p *picture) truth(s Scene, c *canvas) Truth {
	t := Truth{
		Mask:  image.NewGray(image.Rect(0, 0, c.w, c.h)),
		Gains: Gains(s.Kelvin, s.Tint),
	}
	if p.bloom != nil {
		t.Bloom, t.Radius = [2]float64{float64(p.bloom.x), float64(p.bloom.y)}, p.radius
	}
	x, y := float64(c.w-1), float64(c.h-1)
	mid := quad{{0, 0}, {x, 0}, {x, y}, {0, y}} // whose middle the light is taken from
	if p.card != nil {
		t.Card, t.Edge, t.Chart = p.card.patch(), p.card.edge, p.card.corners
		mid = t.Edge
		if t.Card != (quad{}) {
			mid = t.Card
		}
		for i, q := range p.card.strip {
			t.Strip[i] = q.quad
		}
		for _, q := range p.card.chart {
			t.Patches = append(t.Patches, q.quad)
		}
	}
	if p.tag != nil {
		t.Tag, t.TagEdge = p.tag.code, p.tag.paper
	}
	for i, v := range c.petal {
		if v >= 0.5 {
			t.Mask.Pix[i] = 255
			t.Pixels++
		}
	}
	if t.Pixels == 0 {
		p.judge(&t, nil, c.w)
		return t
	}
	var picks []int // evenly spread in reading order
	step := max(t.Pixels/20000, 1)
	seen := 0
	for i, v := range t.Mask.Pix {
		if v == 0 {
			continue
		}
		if seen%step == 0 {
			picks = append(picks, i)
		}
		seen++
	}
	flat, shaded := make([]float32, len(picks)), make([]float32, len(picks))
	for k, i := range picks {
		flat[k] = c.refl[i].luminance()
		shaded[k] = flat[k] * c.shade[i]
	}
	scale := robust.Median(flat)/robust.Median(shaded) - 1
	for i, v := range c.petal {
		if v > 0 {
			c.shade[i] *= 1 + v*scale
		}
	}

	all := picks
	picks, t.Browned, t.Faded = c.unbrowned(picks)
	if len(picks) <= len(all)/50 {
		picks = all
	}
	pale := p.bloom.blades[0].pale

	m := mid.middle()
	here := 1 / max(p.lamp.at(float32(m[0]), float32(m[1])), 1e-3)
	tint := p.lamp.color(float32(m[0]), float32(m[1]))
	ev := float32(math.Exp2(s.EV))
	var own, lit [3][]float32
	clipped := 0
	for _, i := range picks {
		col := c.refl[i]
		x, y := float32(i%c.w), float32(i/c.w)
		light := c.shade[i] * p.lamp.at(x, y)
		if fresh, ok := c.fresh(i, pale); ok {
			add(&own, fresh.lab())
		}
		if p.lamp.edge != nil {
			col = col.by(p.lamp.color(x, y).over(tint))
		}
		add(&lit, col.times(light*here).lab())
		col = col.by(tint)
		if s.clips(rgb{col[0] * light * ev * float32(t.Gains[0]), col[1] * light * ev * float32(t.Gains[1]),
			col[2] * light * ev * float32(t.Gains[2])}) {
			clipped++
		}
	}
	t.Clipped = float64(clipped) / float64(len(picks))
	t.Petal, t.Seen = s.Petal, median(lit)
	if len(own[0]) > len(all)/50 && t.Browned < 0.98 {
		t.Petal = median(own)
	}
	p.judge(&t, all, c.w)
	return t
}

// clips reports whether the file cannot hold the light: a channel leaves 0..1
// on the sensor, or by the phone's saturation.
func (s Scene) clips(c rgb) bool {
	if min(c[0], c[1], c[2]) < 0 || max(c[0], c[1], c[2]) > 1 {
		return true
	}
	if s.Phone == nil {
		return false
	}
	c = s.Phone.saturate(c)
	return min(c[0], c[1], c[2]) < 0 || max(c[0], c[1], c[2]) > 1
}

func add(to *[3][]float32, c cie.Lab) {
	to[0] = append(to[0], float32(c.L))
	to[1] = append(to[1], float32(c.A))
	to[2] = append(to[2], float32(c.B))
}

func median(of [3][]float32) cie.Lab {
	return cie.Lab{L: float64(robust.Median(of[0])), A: float64(robust.Median(of[1])), B: float64(robust.Median(of[2]))}
}
