package robust

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Least minimises the sum of squares of f, from the start x, which it moves.
// f fills r, n numbers long, for the p numbers of x; it must be smooth.
//
// Source: Levenberg 1944, Marquardt 1963; the damping follows the diagonal.
func Least(x []float64, n int, f func(x, r []float64), rounds int) {
	p := len(x)
	if p == 0 {
		return
	}
	sum := func(r []float64) (s float64) {
		for _, v := range r {
			s += v * v
		}
		return s
	}
	r, shifted, try := make([]float64, n), make([]float64, n), make([]float64, p)
	f(x, r)
	at := sum(r)
	jac := mat.NewDense(n, p, nil)
	damp := 1e-3
	for range rounds {
		for j := range p {
			const h = 1e-6
			copy(try, x)
			try[j] += h
			f(try, shifted)
			for i := range n {
				jac.Set(i, j, (shifted[i]-r[i])/h)
			}
		}
		var a mat.SymDense
		a.SymOuterK(1, jac.T())
		var g, step mat.VecDense
		g.MulVec(jac.T(), mat.NewVecDense(n, r))
		before := at
		for damp < 1e9 {
			d := mat.NewSymDense(p, nil)
			d.CopySym(&a)
			for j := range p {
				d.SetSym(j, j, a.At(j, j)*(1+damp)+1e-12)
			}
			var ch mat.Cholesky
			if ch.Factorize(d) && ch.SolveVecTo(&step, &g) == nil {
				for j := range p {
					try[j] = x[j] - step.AtVec(j)
				}
				f(try, shifted)
				if s := sum(shifted); s < at && !math.IsNaN(s) {
					at = s
					copy(x, try)
					copy(r, shifted)
					damp /= 5
					break
				}
			}
			damp *= 4
		}
		if before-at <= 1e-7*before {
			return
		}
	}
}
