package cie

import (
	"math"

	"pgregory.net/rapid"
)

// near reports whether got is within tolerance of want; NaN is near nothing.
func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }

// nearLab is [near] for each of L*, a*, b*.
func nearLab(got, want Lab, tolerance float64) bool {
	return near(got.L, want.L, tolerance) && near(got.A, want.A, tolerance) && near(got.B, want.B, tolerance)
}

// nearXYZ is [near] for each of X, Y, Z.
func nearXYZ(got, want XYZ, tolerance float64) bool {
	return near(got.X, want.X, tolerance) && near(got.Y, want.Y, tolerance) && near(got.Z, want.Z, tolerance)
}

// nearMatrix is [near] for each element.
func nearMatrix(got, want Matrix, tolerance float64) bool {
	for i := range 3 {
		for j := range 3 {
			if !near(got[i][j], want[i][j], tolerance) {
				return false
			}
		}
	}
	return true
}

// fromXY is the light of chromaticity x, y with Y = 1.
func fromXY(x, y float64) XYZ { return XYZ{x / y, 1, (1 - x - y) / y} }

// drawLab draws any colour that a surface could have, and some that none has.
func drawLab(t *rapid.T, label string) Lab {
	return Lab{
		rapid.Float64Range(0, 100).Draw(t, label+" L*"),
		rapid.Float64Range(-160, 160).Draw(t, label+" a*"),
		rapid.Float64Range(-160, 160).Draw(t, label+" b*"),
	}
}
