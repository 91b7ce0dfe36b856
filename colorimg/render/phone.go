package render

import (
	"math"

	"hueward/colorimg/cie"
)

// Phone is what a phone's own processing does to the exposed picture, card and all: light is cut to 0..1, drawn away
// from grey, cut again, and sent through one S-shaped tone curve for each channel.
//
// In sRGB code values e from 0 to 1, with the pivot p = 0.4613 (the code of an 18 % grey) and k = 1 + Contrast, the
// curve is p (e/p)^k below p and 1 - (1-p) ((1-e)/(1-p))^k above. It keeps black, the pivot and white, and has the
// slope k at the pivot. One grey card of 18 %, exposed for itself, sees nothing of it; black and white patches do.
type Phone struct {
	Contrast   float64 // slope of the curve at the pivot, less 1; 0: no curve
	Saturation float64 // factor of the difference to luminance, in linear light; 0: 1
}

// UsualPhone is a phone of middling zeal. A guess: makers publish nothing, and
// measured slopes and chroma gains of phones lie around these.
var UsualPhone = Phone{Contrast: 0.20, Saturation: 1.15}

const pivot = 0.4613561 // sRGB code of 0.18 (IEC 61966-2-1)

// Apply returns the light that the file of this phone claims, for the light that fell on the sensor, both linear sRGB.
func (p Phone) Apply(c cie.RGB) cie.RGB {
	v := p.saturate(rgb{float32(c[0]), float32(c[1]), float32(c[2])})
	for i, x := range v {
		c[i] = cie.Linear(p.curve(cie.Encode(min(max(float64(x), 0), 1))))
	}
	return c
}

func (p Phone) curve(e float64) float64 {
	k := 1 + p.Contrast
	if e < pivot {
		return pivot * math.Pow(e/pivot, k)
	}
	return 1 - (1-pivot)*math.Pow((1-e)/(1-pivot), k)
}

// saturate is the step before the tone curve; what comes out may leave 0..1.
func (p Phone) saturate(c rgb) rgb {
	for i, v := range c {
		c[i] = clamp(v)
	}
	if p.Saturation == 0 || p.Saturation == 1 {
		return c
	}
	y := c.luminance()
	return rgb{y, y, y}.mix(c, float32(p.Saturation))
}

// developer is a phone with its curve in a table, from codes to codes in 255ths.
type developer struct {
	Phone
	table [1<<10 + 2]float32
}

func newDeveloper(p *Phone) *developer {
	if p == nil {
		return nil
	}
	d := &developer{Phone: *p}
	for i := range d.table {
		d.table[i] = float32(255 * p.curve(min(float64(i)/(1<<10), 1)))
	}
	return d
}

// codes are the bytes of the file.
func (d *developer) codes(c rgb) (out [3]uint8) {
	for i, v := range d.saturate(c) {
		t := code(v) * (1 << 10) / 255
		k := int(t)
		out[i] = uint8(d.table[k] + (d.table[k+1]-d.table[k])*(t-float32(k)) + 0.5)
	}
	return out
}
