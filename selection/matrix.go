package selection

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The 3 × 3 matrices of this package are covariances of L*, a*, b*: symmetric,
// and positive definite wherever they are inverted.
type m3 = [3][3]float64
type v3 = [3]float64

func diag(v v3) m3 { return m3{{v[0], 0, 0}, {0, v[1], 0}, {0, 0, v[2]}} }

func add(x, y m3) m3 { return zip(x, y, 1) }
func sub(x, y m3) m3 { return zip(x, y, -1) }

func zip(x, y m3, s float64) m3 {
	for i := range 3 {
		for j := range 3 {
			x[i][j] += s * y[i][j]
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

func mul(x, y m3) m3 {
	var p m3
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				p[i][j] += x[i][k] * y[k][j]
			}
		}
	}
	return p
}

func apply(x m3, v v3) v3 {
	var p v3
	for i := range 3 {
		for j := range 3 {
			p[i] += x[i][j] * v[j]
		}
	}
	return p
}

func transpose(x m3) m3 {
	var p m3
	for i := range 3 {
		for j := range 3 {
			p[i][j] = x[j][i]
		}
	}
	return p
}

func outer(v v3) m3 {
	var p m3
	for i := range 3 {
		for j := range 3 {
			p[i][j] = v[i] * v[j]
		}
	}
	return p
}

func trace(x m3) float64 { return x[0][0] + x[1][1] + x[2][2] }

func dot(x, y v3) float64 { return x[0]*y[0] + x[1]*y[1] + x[2]*y[2] }

func minus(x, y v3) v3 { return v3{x[0] - y[0], x[1] - y[1], x[2] - y[2]} }

func plus(x, y v3) v3 { return v3{x[0] + y[0], x[1] + y[1], x[2] + y[2]} }

// inverse is that of a positive definite matrix, by cofactors; the result is
// symmetric to the last bit.
func inverse(x m3) m3 {
	c := func(i, j int) float64 {
		a, b := (i+1)%3, (i+2)%3
		d, e := (j+1)%3, (j+2)%3
		return x[a][d]*x[b][e] - x[a][e]*x[b][d]
	}
	det := x[0][0]*c(0, 0) + x[0][1]*c(0, 1) + x[0][2]*c(0, 2)
	var p m3
	for i := range 3 {
		for j := i; j < 3; j++ {
			p[i][j] = c(i, j) / det
			p[j][i] = p[i][j]
		}
	}
	return p
}

// root is the lower triangular L with L·L' = x, for x positive semidefinite;
// directions without variance get none.
func root(x m3) m3 {
	var l m3
	tiny := 1e-12 * max(trace(x), 1e-12)
	for j := range 3 {
		d := x[j][j]
		for k := range j {
			d -= l[j][k] * l[j][k]
		}
		if d <= tiny {
			continue
		}
		l[j][j] = math.Sqrt(d)
		for i := j + 1; i < 3; i++ {
			s := x[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			l[i][j] = s / l[j][j]
		}
	}
	return l
}

// semidefinite is the positive semidefinite matrix nearest to x: its negative
// eigenvalues become 0.
func semidefinite(x m3) m3 {
	s := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			s.SetSym(i, j, (x[i][j]+x[j][i])/2)
		}
	}
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		return diag(v3{max(0, x[0][0]), max(0, x[1][1]), max(0, x[2][2])})
	}
	var v mat.Dense
	e.VectorsTo(&v)
	var p m3
	for k, l := range e.Values(nil) {
		if l <= 0 {
			continue
		}
		p = add(p, scale(l, outer(v3{v.At(0, k), v.At(1, k), v.At(2, k)})))
	}
	return p
}
