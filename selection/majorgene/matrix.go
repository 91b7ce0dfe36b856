package majorgene

import "math"

// Colours are three numbers, their covariances 3 × 3.
type (
	v3 = [3]float64
	m3 = [3][3]float64
)

func add(x, y m3) m3 {
	for i := range 3 {
		for j := range 3 {
			x[i][j] += y[i][j]
		}
	}
	return x
}

func scale(s float64, x m3) m3 {
	for i := range 3 {
		for j := range 3 {
			x[i][j] *= s
		}
	}
	return x
}

func diag(v float64) m3 { return m3{{v, 0, 0}, {0, v, 0}, {0, 0, v}} }

func plus(x, y v3) v3  { return v3{x[0] + y[0], x[1] + y[1], x[2] + y[2]} }
func minus(x, y v3) v3 { return v3{x[0] - y[0], x[1] - y[1], x[2] - y[2]} }

func times(s float64, x v3) v3 { return v3{s * x[0], s * x[1], s * x[2]} }

func dot(x, y v3) float64 { return x[0]*y[0] + x[1]*y[1] + x[2]*y[2] }

func apply(x m3, v v3) v3 {
	return v3{dot(x[0], v), dot(x[1], v), dot(x[2], v)}
}

func outer(v v3) m3 {
	return m3{times(v[0], v), times(v[1], v), times(v[2], v)}
}

// inverse is that of a positive definite matrix, and the logarithm of its determinant.
func inverse(x m3) (p m3, logDet float64) {
	a := x[1][1]*x[2][2] - x[1][2]*x[1][2]
	b := x[0][2]*x[1][2] - x[0][1]*x[2][2]
	c := x[0][1]*x[1][2] - x[0][2]*x[1][1]
	det := x[0][0]*a + x[0][1]*b + x[0][2]*c
	d := x[0][0]*x[2][2] - x[0][2]*x[0][2]
	e := x[0][1]*x[0][2] - x[0][0]*x[1][2]
	f := x[0][0]*x[1][1] - x[0][1]*x[0][1]
	return m3{{a / det, b / det, c / det}, {b / det, d / det, e / det}, {c / det, e / det, f / det}}, math.Log(max(det, 1e-300))
}

// traceOf is the trace of x·y, both symmetric.
func traceOf(x, y m3) float64 { return dot(x[0], y[0]) + dot(x[1], y[1]) + dot(x[2], y[2]) }

// quadratic is v'xv.
func quadratic(x m3, v v3) float64 { return dot(v, apply(x, v)) }
