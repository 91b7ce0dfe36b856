package petal

import (
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/rows"
)

// scene is a photo with the correction of its light.
type scene struct {
	im     *photo.Linear
	gains  [3]float64
	cutOff []uint8    // see Options
	toXYZ  cie.Matrix // linear pixels to XYZ relative to the white point, with gains applied
}

func newScene(im *photo.Linear, gains [3]float64) *scene {
	return &scene{im: im, gains: gains, toXYZ: corrected(gains)}
}

// parallel calls f with rows 0 to n-1, on all processors.
func parallel(n int, f func(y int)) {
	rows.Split(n, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			f(y)
		}
	})
}

// corrected returns the matrix from a linear pixel to its corrected XYZ, relative
// to the white point.
func corrected(gains [3]float64) cie.Matrix {
	m := cie.SRGB.ToXYZ
	for i, white := range [3]float64{cie.D65.X, cie.D65.Y, cie.D65.Z} {
		for c := range 3 {
			m[i][c] *= gains[c] / white
		}
	}
	return m
}

// labOf returns the corrected colour of a linear pixel, with L* clamped to [0, 130]. A
// petal brighter than white means that the light was judged wrong, and is flagged elsewhere.
func (s *scene) labOf(r, g, b float32) cie.Lab {
	x, y, z := s.toXYZ.Apply(float64(r), float64(g), float64(b))
	fx, fy, fz := rootOf(x), rootOf(y), rootOf(z)
	return cie.Lab{L: min(max(116*fy-16, 0), 130), A: 500 * (fx - fy), B: 200 * (fy - fz)}
}

// roots holds cube roots for rootOf, rootSteps to each whole number, up to 2.
const rootSteps = 2048

var roots = func() (t [2*rootSteps + 1]float32) {
	for i := range t {
		t[i] = float32(math.Cbrt(float64(i) / rootSteps))
	}
	return t
}()

// rootOf returns the function f of CIELAB, from a table between 0.01 and 2. There the error
// is less than 0.01 in a* and 0.002 in L*, in a third of the time.
//
// Source: ISO/CIE 11664-4; TestRootOf compares it with package cie.
func rootOf(t float64) float64 {
	if !(t > 0.01 && t < 2) {
		if t <= 216./24389 {
			return (24389./27*t + 16) / 116
		}
		return math.Cbrt(t)
	}
	at := t * rootSteps
	i := int(at)
	f := float32(at - float64(i))
	return float64(roots[i] + f*(roots[i+1]-roots[i]))
}

// lightWeight is the weight of a difference in L* relative to one in a* or b*, as shading
// changes lightness most. Our own choice.
const lightWeight = 0.6

// apart2 returns the square of a Euclidean colour difference in which lightness has lightWeight.
func apart2(p, q cie.Lab) float64 {
	dl, da, db := lightWeight*(p.L-q.L), p.A-q.A, p.B-q.B
	return dl*dl + da*da + db*db
}

// LeafGreen reports whether c is a colour of leaves. Common practice, no source:
// leaves have a hue of about 110 to 145 degrees and a chroma of 15 to 45, and are darker
// than pale green petals.
func LeafGreen(c cie.Lab) bool {
	h := c.LCh()
	return h.H > 102 && h.H < 165 && h.C > 9 && h.L < 70
}

// resized returns v with n elements of any value.
func resized[T any](v []T, n int) []T {
	if cap(v) < n {
		return make([]T, n)
	}
	return v[:n]
}

// distance returns the length of (x, y). Unlike math.Hypot, it may overflow, and is
// several times as fast.
func distance(x, y float64) float64 { return math.Sqrt(x*x + y*y) }
