package space

import (
	"math"

	"hueward/colorimg/cie"
)

// AroundPoints is how many colours [Around] appends.
const AroundPoints = 6

// Around appends colours around the mean m, given a root of the covariance. The mean of a function over these sigma points
// is right for polynomials up to the third degree.
//
// Source: Julier and Uhlmann 1997, the unscented transform.
func Around(at []cie.Lab, m Vector, root *Matrix) []cie.Lab {
	for k := range 3 {
		x, y, z := math.Sqrt(3)*root[0][k], math.Sqrt(3)*root[1][k], math.Sqrt(3)*root[2][k]
		at = append(at, cie.Lab{L: m[0] + x, A: m[1] + y, B: m[2] + z}, cie.Lab{L: m[0] - x, A: m[1] - y, B: m[2] - z})
	}
	return at
}
