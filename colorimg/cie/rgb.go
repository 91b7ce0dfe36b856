package cie

import "math"

// RGB is red, green and blue of a linear-light colour in some [Space]; 0 is black and 1 the encoding's white. Values
// outside 0 to 1 are colours that the space's ordinary encoding cannot hold, and are kept.
type RGB [3]float64

// Matrix is a 3 × 3 matrix, row by row.
type Matrix [3][3]float64

// Apply returns m times the column (x, y, z).
func (m Matrix) Apply(x, y, z float64) (float64, float64, float64) {
	return m[0][0]*x + m[0][1]*y + m[0][2]*z,
		m[1][0]*x + m[1][1]*y + m[1][2]*z,
		m[2][0]*x + m[2][1]*y + m[2][2]*z
}

// Mul returns m times n.
func (m Matrix) Mul(n Matrix) Matrix {
	var p Matrix
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				p[i][j] += m[i][k] * n[k][j]
			}
		}
	}
	return p
}

// Inverse returns the inverse of m. It panics when m is singular: every
// matrix here is one of a colour space, chosen by a programmer.
func (m Matrix) Inverse() Matrix {
	det := m.Det()
	if det == 0 || math.IsNaN(det) {
		panic("cie: singular matrix")
	}
	var p Matrix
	for i := range 3 {
		for j := range 3 {
			p[j][i] = m.cofactor(i, j) / det
		}
	}
	return p
}

// Det returns the determinant of m.
func (m Matrix) Det() float64 {
	return m[0][0]*m.cofactor(0, 0) + m[0][1]*m.cofactor(0, 1) + m[0][2]*m.cofactor(0, 2)
}

func (m Matrix) cofactor(i, j int) float64 {
	a, b := (i+1)%3, (i+2)%3
	d, e := (j+1)%3, (j+2)%3
	return m[a][d]*m[b][e] - m[a][e]*m[b][d]
}

// Space is a linear RGB colour space with D65 white: its primaries as a matrix to XYZ and back. [Linear] and [Encode]
// are the transfer function of both spaces here.
type Space struct {
	Name           string
	ToXYZ, FromXYZ Matrix
}

// SRGB and DisplayP3 are the two spaces that cameras and phones write.
//
// Source: primaries of sRGB from IEC 61966-2-1:1999 (x, y of red 0.64, 0.33; green 0.30, 0.60; blue 0.15, 0.06), of
// Display P3 from SMPTE RP 431-2 with D65 white (0.680, 0.320; 0.265, 0.690; 0.150, 0.060); from memory. The grid test
// compares both with other libraries.
//
// Their white is exactly [D65], so that RGB white is Lab 100, 0, 0. IEC 61966-2-1
// takes D65 from its rounded chromaticity (0.3127, 0.3290) instead: its matrix
// differs from this one by up to 2.3e-4, and Lab colours by up to 0.012.
var (
	SRGB      = newSpace("sRGB", srgbPrimaries, D65)
	DisplayP3 = newSpace("Display P3", p3Primaries, D65)

	srgbPrimaries = [3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}
	p3Primaries   = [3][2]float64{{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}
)

func newSpace(name string, xy [3][2]float64, w White) Space {
	p, _ := Primaries(xy, w)
	return Space{Name: name, ToXYZ: p, FromXYZ: p.Inverse()}
}

// Primaries derives the matrix to XYZ from the chromaticities x, y of red, green
// and blue, so that (1, 1, 1) is the white w. False: they span no colours.
func Primaries(xy [3][2]float64, w White) (Matrix, bool) {
	var p Matrix
	for j, c := range xy {
		p[0][j], p[1][j], p[2][j] = c[0]/c[1], 1, (1-c[0]-c[1])/c[1]
	}
	if !(math.Abs(p.Det()) >= 1e-3) {
		return p, false
	}
	r, g, b := p.Inverse().Apply(w.X, w.Y, w.Z)
	for i := range 3 {
		p[i][0] *= r
		p[i][1] *= g
		p[i][2] *= b
	}
	return p, r > 0 && g > 0 && b > 0
}

// XYZ returns the tristimulus value of the linear colour c.
func (s Space) XYZ(c RGB) XYZ {
	x, y, z := s.ToXYZ.Apply(c[0], c[1], c[2])
	return XYZ{x, y, z}
}

// RGB returns x as a linear colour of the space, not clipped.
func (s Space) RGB(x XYZ) RGB {
	r, g, b := s.FromXYZ.Apply(x.X, x.Y, x.Z)
	return RGB{r, g, b}
}

// Linear undoes the sRGB transfer function: it maps a code v, 0 to 1, to linear light.
// For values below 0 the function is mirrored; above 1 the curve goes on.
//
// Source: IEC 61966-2-1:1999.
func Linear(v float64) float64 {
	if v < 0 {
		return -Linear(-v)
	}
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// Encode applies the sRGB transfer function, the inverse of [Linear].
func Encode(v float64) float64 {
	if v < 0 {
		return -Encode(-v)
	}
	if v <= 0.0031308 {
		return v * 12.92
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}
