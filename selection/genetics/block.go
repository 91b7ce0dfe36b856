package genetics

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Small square matrices, t × t for t traits, are stored by rows in a slice of t².

// invert returns the inverse of the symmetric matrix x and the logarithm of its
// determinant; ok is false when x is not positive definite.
func invert(x []float64, t int) (inv []float64, logDet float64, ok bool) {
	if t == 3 {
		return invert3(x)
	}
	var c mat.Cholesky
	if !c.Factorize(mat.NewSymDense(t, x)) || math.IsInf(c.LogDet(), 0) {
		return nil, math.NaN(), false
	}
	var z mat.SymDense
	_ = c.InverseTo(&z) // an error only says that x is nearly singular; z is filled in
	inv = make([]float64, t*t)
	for i := range t {
		for j := range t {
			inv[i*t+j] = z.At(i, j)
		}
	}
	return inv, c.LogDet(), true
}

// invert3 is invert of 3 × 3, the usual case, several times faster.
func invert3(x []float64) (inv []float64, logDet float64, ok bool) {
	// x = L Lᵀ, L by a, b, c, d, e, f: a; b d; c e f.
	a := math.Sqrt(x[0])
	b, c := x[1]/a, x[2]/a
	d := math.Sqrt(x[4] - b*b)
	e := (x[5] - b*c) / d
	f := math.Sqrt(x[8] - c*c - e*e)
	det := a * d * f
	if !(a > 0 && d > 0 && f > 0 && det > 0) || math.IsInf(det, 0) {
		return nil, math.NaN(), false
	}
	a, d, f = 1/a, 1/d, 1/f
	b, e, c = -b*a*d, -e*d*f, (b*e*d-c)*a*f // L⁻¹, in the same places
	xy, xz, yz := b*d+c*e, c*f, e*f
	return []float64{a*a + b*b + c*c, xy, xz, xy, d*d + e*e, yz, xz, yz, f * f}, 2 * math.Log(det), true
}

// addTo adds s·x to dst.
func addTo(dst []float64, s float64, x []float64) {
	for i, v := range x {
		dst[i] += s * v
	}
}

// subProduct subtracts x·yᵀ from dst.
func subProduct(dst, x, y []float64, t int) {
	if t == 3 {
		dst, x, y = dst[:9], x[:9], y[:9]
		for i := 0; i < 9; i += 3 {
			a, b, c := x[i], x[i+1], x[i+2]
			dst[i] -= a*y[0] + b*y[1] + c*y[2]
			dst[i+1] -= a*y[3] + b*y[4] + c*y[5]
			dst[i+2] -= a*y[6] + b*y[7] + c*y[8]
		}
		return
	}
	for i := range t {
		for j := range t {
			s := 0.0
			for k := range t {
				s += x[i*t+k] * y[j*t+k]
			}
			dst[i*t+j] -= s
		}
	}
}

// subMul subtracts x·y from dst.
func subMul(dst, x, y []float64, t int) {
	if t == 3 {
		dst, x, y = dst[:9], x[:9], y[:9]
		for i := 0; i < 9; i += 3 {
			a, b, c := x[i], x[i+1], x[i+2]
			dst[i] -= a*y[0] + b*y[3] + c*y[6]
			dst[i+1] -= a*y[1] + b*y[4] + c*y[7]
			dst[i+2] -= a*y[2] + b*y[5] + c*y[8]
		}
		return
	}
	for i := range t {
		for k := range t {
			for j := range t {
				dst[i*t+j] -= x[i*t+k] * y[k*t+j]
			}
		}
	}
}

// subMulT subtracts xᵀ·y from dst.
func subMulT(dst, x, y []float64, t int) {
	if t == 3 {
		dst, x, y = dst[:9], x[:9], y[:9]
		for i := range 3 {
			a, b, c := x[i], x[i+3], x[i+6]
			dst[3*i] -= a*y[0] + b*y[3] + c*y[6]
			dst[3*i+1] -= a*y[1] + b*y[4] + c*y[7]
			dst[3*i+2] -= a*y[2] + b*y[5] + c*y[8]
		}
		return
	}
	for i := range t {
		for k := range t {
			for j := range t {
				dst[i*t+j] -= x[k*t+i] * y[k*t+j]
			}
		}
	}
}

// product is x·y.
func product(x, y []float64, t int) []float64 { return productTo(make([]float64, t*t), x, y, t) }

// productTo is product into p, which it returns.
func productTo(p, x, y []float64, t int) []float64 {
	for i := range t {
		for j := range t {
			s := 0.0
			for k := range t {
				s += x[i*t+k] * y[k*t+j]
			}
			p[i*t+j] = s
		}
	}
	return p
}

// addApply adds s·x·v to dst.
func addApply(dst []float64, s float64, x, v []float64, t int) {
	for i := range t {
		sum := 0.0
		for j := range t {
			sum += x[i*t+j] * v[j]
		}
		dst[i] += s * sum
	}
}

// addApplyT adds s·xᵀ·v to dst.
func addApplyT(dst []float64, s float64, x, v []float64, t int) {
	for j := range t {
		for i := range t {
			dst[i] += s * x[j*t+i] * v[j]
		}
	}
}

// traceOf is the trace of x·y, y symmetric.
func traceOf(x, y []float64) float64 {
	s := 0.0
	for i, v := range x {
		s += v * y[i]
	}
	return s
}
