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

// Bradford returns the matrix that takes an XYZ seen under the white from to the XYZ that looks alike under the white
// to. Only the proportions of X, Y and Z within each white and the ratio of their Y count; from itself becomes to
// exactly. A white without a positive cone response gives infinite or NaN elements.
//
// Source: linear Bradford transform, ICC.1 annex E; TestBradfordLindbloom checks the published matrix from D50 to D65.
func Bradford(from, to White) Matrix {
	r0, g0, b0 := bradford.Apply(from.X, from.Y, from.Z)
	r1, g1, b1 := bradford.Apply(to.X, to.Y, to.Z)
	gain := Matrix{{r1 / r0, 0, 0}, {0, g1 / g0, 0}, {0, 0, b1 / b0}}
	return bradfordInverse.Mul(gain).Mul(bradford)
}

// Adapt returns what x, seen under the white from, looks like under the white
// to. For many colours of one photo, apply the matrix of [Bradford] instead.
func Adapt(x XYZ, from, to White) XYZ {
	if from == to {
		return x
	}
	a, b, c := Bradford(from, to).Apply(x.X, x.Y, x.Z)
	return XYZ{a, b, c}
}
