package camera

import (
	"math"

	"hueward/colorimg/cie"
)

// curve undoes a phone's tone curve, in the encoded domain: an encoded value e in 0 to 1 becomes
//
//	e + e (1 − e) (c0 + c1 x + c2 x² …),  x = 2e − 1
//
// so that black and white stay where they are. Without coefficients it changes
// nothing. Light below 0 is mirrored; above 1 the curve runs straight on.
//
// The form is our own: few numbers, smooth, and any S-shape or lifted shadows
// that phones are seen to have. TestCurveShapes says how near it comes.
type curve []float64

// curveTerms is how many coefficients are fitted.
const curveTerms = 4

func (c curve) encoded(e float64) float64 {
	p, x := 0.0, 2*e-1
	for i := len(c) - 1; i >= 0; i-- {
		p = p*x + c[i]
	}
	return e + e*(1-e)*p
}

// slope is the derivative of encoded.
func (c curve) slope(e float64) float64 {
	const h = 1e-4
	lo, hi := max(0, e-h), min(1, e+h)
	return (c.encoded(hi) - c.encoded(lo)) / (hi - lo)
}

// at returns the light that the phone saw where it wrote the light v.
func (c curve) at(v float64) float64 {
	switch {
	case len(c) == 0:
		return v
	case v < 0:
		return -c.at(-v)
	case v > 1:
		const h = 1e-3 // the slope at white, in linear light
		return 1 + (v-1)*(1-c.at(1-h))/h
	}
	return cie.Linear(c.encoded(cie.Encode(v)))
}

// steps are the places where a curve is held to rise.
const steps = 32

// minSlope is how flat an undone curve may become; a phone's own curve is
// then 6 times steeper than sRGB's, more than any that was seen (a guess).
const minSlope = 0.15

// rises reports whether the curve rises everywhere, so that no two lights become one.
func (c curve) rises() bool {
	for i := range steps + 1 {
		if s := c.slope(float64(i) / steps); !(s >= minSlope/3) || math.IsInf(s, 0) {
			return false
		}
	}
	return true
}

// table is the curve in steps of the square root of the light, for many pixels.
type table struct {
	curve curve
	light [tableSize + 2]float64
}

const tableSize = 2048

func (c curve) table() *table {
	t := &table{curve: c}
	for i := range t.light {
		v := float64(i) / tableSize
		t.light[i] = c.at(v * v)
	}
	return t
}

// undo is [curve.at] of three channels to about 1e-5, by interpolation.
func (t *table) undo(v *[3]float64) {
	for c, x := range v {
		if len(t.curve) == 0 || !(x >= 0 && x <= 1) {
			v[c] = t.curve.at(x)
			continue
		}
		x = math.Sqrt(x) * tableSize
		i := int(x)
		v[c] = t.light[i] + (x-float64(i))*(t.light[i+1]-t.light[i])
	}
}
