package cie

import (
	"encoding/json"
	"math"
)

// White is a white point: the tristimulus value of a reference white, with Y = 1.
type White struct{ X, Y, Z float64 }

// The two whites used here, for the CIE 2 degree observer.
//
// D65 is from the CIE 15 / ASTM E308 tables (from memory: 95.047, 100,
// 108.883); D50 is the white of the ICC profile connection space (ICC.1:
// 0.9642, 1, 0.8249).
var (
	D65 = White{0.95047, 1, 1.08883}
	D50 = White{0.9642, 1, 0.8249}
)

// XYZ is a CIE 1931 tristimulus value; Y is 1 for the reference white.
type XYZ struct{ X, Y, Z float64 }

// Lab is a CIE 1976 L*a*b* colour under D65, 2 degree observer. L* is 0 for black and 100 for the reference white; a*
// (green to red) and b* (blue to yellow) have no fixed bounds.
type Lab struct{ L, A, B float64 }

// MarshalJSON writes c as a list of its three numbers.
func (c Lab) MarshalJSON() ([]byte, error) { return json.Marshal([3]float64{c.L, c.A, c.B}) }

// LCh is Lab in polar form: lightness, chroma C*ab (0 or more) and the hue angle H in degrees, in [0, 360).
type LCh struct{ L, C, H float64 }

// The break of the Lab transfer function, as exact fractions.
//
// Source: CIE 15; ISO/CIE 11664-4.
const (
	labEpsilon = 216.0 / 24389.0
	labKappa   = 24389.0 / 27.0
)

// Lab returns the colour of x seen against D65.
//
// Source: ISO/CIE 11664-4.
func (x XYZ) Lab() Lab { return x.LabUnder(D65) }

// LabUnder returns the colour of x seen against the white w.
//
// Source: ISO/CIE 11664-4.
func (x XYZ) LabUnder(w White) Lab {
	fx, fy, fz := LabF(x.X/w.X), LabF(x.Y/w.Y), LabF(x.Z/w.Z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// XYZ returns the tristimulus value of c against D65, the inverse of [XYZ.Lab].
func (c Lab) XYZ() XYZ {
	fy := (c.L + 16) / 116
	fx, fz := fy+c.A/500, fy-c.B/200
	return XYZ{D65.X * LabInverse(fx), D65.Y * LabInverse(fy), D65.Z * LabInverse(fz)}
}

// LabF is the function f of L*a*b*: a cube root, and linear near and below 0.
//
// Source: ISO/CIE 11664-4.
func LabF(t float64) float64 {
	if t > labEpsilon {
		return math.Cbrt(t)
	}
	return (labKappa*t + 16) / 116
}

// LabInverse is the inverse of [LabF].
func LabInverse(f float64) float64 {
	if t := f * f * f; t > labEpsilon {
		return t
	}
	return (116*f - 16) / labKappa
}

// LCh returns c in polar form. A colour without chroma has hue 0.
func (c Lab) LCh() LCh {
	return LCh{c.L, math.Hypot(c.A, c.B), hueDegrees(c.A, c.B)}
}

// hueDegrees returns the angle of (a, b) in degrees, in [0, 360); at the origin it is 0 for any signs of the zeros.
func hueDegrees(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 { // a tiny negative angle rounds up to a full turn
		h = 0
	}
	return h
}

// Lab returns c in rectangular form.
func (c LCh) Lab() Lab {
	s, k := math.Sincos(c.H * math.Pi / 180)
	return Lab{c.L, c.C * k, c.C * s}
}
