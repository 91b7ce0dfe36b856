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
// nothing. For light below 0 it is mirrored; above 1 it is a straight line.
//
// The form is our own: it has few coefficients, is smooth, and covers the S-shapes and lifted shadows
// that phones are known to have. TestCurveShapes says how near it comes.
type curve []float64

// curveTerms is the number of coefficients that are fitted.
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

// at returns the linear light before the phone's tone curve, where the photo has v.
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

// steps is the number of places where a curve must rise.
const steps = 32

// minSlope is the least slope of a curve that undoes a phone's; the phone's own curve is
// then 6 times as steep as sRGB's, more than that of any known phone. A guess.
const minSlope = 0.15

// rises reports whether the curve is increasing everywhere, so that it can be inverted.
func (c curve) rises() bool {
	for i := range steps + 1 {
		if s := c.slope(float64(i) / steps); !(s >= minSlope/3) || math.IsInf(s, 0) {
			return false
		}
	}
	return true
}

// table is the curve tabulated by the square root of linear light, which is faster for many pixels.
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

// undo replaces three channels by curve.at of them, within about 1e-5, by interpolation.
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
