package render

import (
	"image"
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// truth reads the answer off the painted canvas, after it has scaled the
// petals' shading so that their median luminance is that of their surface:
// shading then moves the petals' middle colour as little as it can.
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
	for i, v := range c.petal {
		if v >= 0.5 {
			t.Mask.Pix[i] = 255
			t.Pixels++
		}
	}
	if t.Pixels == 0 {
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

	m := mid.middle()
	here := 1 / p.lamp.at(float32(m[0]), float32(m[1]))
	ev := float32(math.Exp2(s.EV))
	var own, lit [3][]float32
	clipped := 0
	for _, i := range picks {
		col := c.refl[i]
		light := c.shade[i] * p.lamp.at(float32(i%c.w), float32(i/c.w))
		add(&own, col.lab())
		add(&lit, col.times(light*here).lab())
		if s.clips(rgb{col[0] * light * ev * float32(t.Gains[0]), col[1] * light * ev * float32(t.Gains[1]),
			col[2] * light * ev * float32(t.Gains[2])}) {
			clipped++
		}
	}
	t.Clipped = float64(clipped) / float64(len(picks))
	t.Petal, t.Seen = median(own), median(lit)
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
