package cie

// bradford is the matrix to the sharpened cone responses.
//
// Source: Lam 1985, as in ICC.1 annex E (from memory).
var (
	bradford = Matrix{
		{0.8951, 0.2664, -0.1614},
		{-0.7502, 1.7135, 0.0367},
		{0.0389, -0.0685, 1.0296},
	}
	bradfordInverse = bradford.Inverse()
)

// Bradford returns the chromatic adaptation matrix from the white point from to the white point to: it maps an XYZ to the
// corresponding colour. Only the chromaticities of the white points and the ratio of their Y count; it maps from to to
// exactly. A white point without a positive cone response gives infinite or NaN elements.
//
// Source: linear Bradford transform, ICC.1 annex E; TestBradfordLindbloom checks the published matrix from D50 to D65.
func Bradford(from, to White) Matrix {
	r0, g0, b0 := bradford.Apply(from.X, from.Y, from.Z)
	r1, g1, b1 := bradford.Apply(to.X, to.Y, to.Z)
	gain := Matrix{{r1 / r0, 0, 0}, {0, g1 / g0, 0}, {0, 0, b1 / b0}}
	return bradfordInverse.Mul(gain).Mul(bradford)
}

// Adapt adapts x from the white point from to the white point to by [Bradford].
// For many colours of one photo, apply that matrix instead.
func Adapt(x XYZ, from, to White) XYZ {
	if from == to {
		return x
	}
	a, b, c := Bradford(from, to).Apply(x.X, x.Y, x.Z)
	return XYZ{a, b, c}
}
