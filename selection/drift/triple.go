package drift

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

func scaled(s float64, x [3][3]float64) [3][3]float64 {
	for i := range 3 {
		for j := range 3 {
			x[i][j] *= s
		}
	}
	return x
}

func plus(x, y [3][3]float64) [3][3]float64 {
	for i := range 3 {
		for j := range 3 {
			x[i][j] += y[i][j]
		}
	}
	return x
}

func difference(x, y [3]float64) [3]float64 { return [3]float64{x[0] - y[0], x[1] - y[1], x[2] - y[2]} }

// quadratic is v'xv.
func quadratic(x [3][3]float64, v [3]float64) float64 {
	s := 0.0
	for i := range 3 {
		for j := range 3 {
			s += v[i] * x[i][j] * v[j]
		}
	}
	return s
}

// inverted is the inverse of a positive definite matrix; ok is false for another.
func inverted(x [3][3]float64) (inv [3][3]float64, ok bool) {
	det, ok := determinant(x)
	if !ok {
		return inv, false
	}
	for i := range 3 {
		a, b := (i+1)%3, (i+2)%3
		for j := range 3 {
			c, d := (j+1)%3, (j+2)%3
			inv[j][i] = (x[a][c]*x[b][d] - x[a][d]*x[b][c]) / det
		}
	}
	return inv, true
}

// determinant is that of a positive definite matrix; ok is false for another.
func determinant(x [3][3]float64) (det float64, ok bool) {
	minor := x[0][0]*x[1][1] - x[0][1]*x[1][0]
	det = x[2][2]*minor - x[1][2]*(x[0][0]*x[2][1]-x[0][1]*x[2][0]) + x[0][2]*(x[1][0]*x[2][1]-x[1][1]*x[2][0])
	return det, x[0][0] > 0 && minor > 0 && det > 1e-12*x[0][0]*x[1][1]*x[2][2] && !math.IsInf(det, 0)
}

// positive is x without its negative directions.
func positive(x [3][3]float64) [3][3]float64 {
	if _, ok := determinant(x); ok {
		return x
	}
	if x[0][0] <= 0 && x[1][1] <= 0 && x[2][2] <= 0 {
		return [3][3]float64{}
	}
	s := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			s.SetSym(i, j, x[i][j])
		}
	}
	var e mat.EigenSym
	var out [3][3]float64
	if !e.Factorize(s, true) {
		return out
	}
	var q mat.Dense
	e.VectorsTo(&q)
	for k, l := range e.Values(nil) {
		for i := range 3 {
			for j := range 3 {
				out[i][j] += max(l, 0) * q.At(i, k) * q.At(j, k)
			}
		}
	}
	return out
}
