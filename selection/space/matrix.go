// Package space calculates with colours as points in CIELAB and with the covariances of their errors: small
// matrices and vectors ([Of] makes one of a colour), and what an error means for the distance to a target ([Interval]).
package space

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/cie"
)

// Matrix is a 3 × 3 matrix, mostly a covariance of L*, a* and b*: symmetric, and positive definite wherever it is inverted.
type Matrix = [3][3]float64

// Vector is a colour, or a difference of two, in the order of [Axes].
type Vector = [3]float64

// Axes names the three numbers of a Lab colour.
var Axes = [3]string{"L*", "a*", "b*"}

// Farthest is beyond every real colour, in L*, a* or b*.
const Farthest = 1000.0

// Of returns c as three numbers.
func Of(c cie.Lab) Vector { return Vector{c.L, c.A, c.B} }

// Lab returns v as a colour.
func Lab(v Vector) cie.Lab { return cie.Lab{L: v[0], A: v[1], B: v[2]} }

// Even is the vector with x on each axis.
func Even(x float64) Vector { return Vector{x, x, x} }

// Diag is the matrix with v on its diagonal.
func Diag(v Vector) Matrix { return Matrix{{v[0], 0, 0}, {0, v[1], 0}, {0, 0, v[2]}} }

// The operations below are written out, as loops take several times as long and predictions do millions of them.

// Add is x + y.
func Add(x, y Matrix) Matrix {
	return Matrix{{x[0][0] + y[0][0], x[0][1] + y[0][1], x[0][2] + y[0][2]}, {x[1][0] + y[1][0], x[1][1] + y[1][1], x[1][2] + y[1][2]},
		{x[2][0] + y[2][0], x[2][1] + y[2][1], x[2][2] + y[2][2]}}
}

// Sub is x − y.
func Sub(x, y Matrix) Matrix {
	return Matrix{{x[0][0] - y[0][0], x[0][1] - y[0][1], x[0][2] - y[0][2]}, {x[1][0] - y[1][0], x[1][1] - y[1][1], x[1][2] - y[1][2]},
		{x[2][0] - y[2][0], x[2][1] - y[2][1], x[2][2] - y[2][2]}}
}

// Scale is s·x.
func Scale(s float64, x Matrix) Matrix {
	return Matrix{{s * x[0][0], s * x[0][1], s * x[0][2]}, {s * x[1][0], s * x[1][1], s * x[1][2]}, {s * x[2][0], s * x[2][1], s * x[2][2]}}
}

// Gather adds s·v·v' to x.
func Gather(x *Matrix, s float64, v *Vector) {
	a, b, c := v[0], v[1], v[2]
	ab, ac, bc := s*(a*b), s*(a*c), s*(b*c)
	x[0][0] += s * (a * a)
	x[0][1] += ab
	x[0][2] += ac
	x[1][0] += ab
	x[1][1] += s * (b * b)
	x[1][2] += bc
	x[2][0] += ac
	x[2][1] += bc
	x[2][2] += s * (c * c)
}

// Mul is the matrix product x·y.
func Mul(x, y Matrix) (p Matrix) {
	for i := range p {
		a, b, c := x[i][0], x[i][1], x[i][2]
		p[i] = Vector{a*y[0][0] + b*y[1][0] + c*y[2][0], a*y[0][1] + b*y[1][1] + c*y[2][1], a*y[0][2] + b*y[1][2] + c*y[2][2]}
	}
	return p
}

// Apply is x·v.
func Apply(x Matrix, v Vector) Vector {
	a, b, c := v[0], v[1], v[2]
	return Vector{x[0][0]*a + x[0][1]*b + x[0][2]*c, x[1][0]*a + x[1][1]*b + x[1][2]*c, x[2][0]*a + x[2][1]*b + x[2][2]*c}
}

// Transpose is x with rows and columns exchanged.
func Transpose(x Matrix) Matrix {
	return Matrix{{x[0][0], x[1][0], x[2][0]}, {x[0][1], x[1][1], x[2][1]}, {x[0][2], x[1][2], x[2][2]}}
}

// Outer is v·v'.
func Outer(v Vector) Matrix { return Matrix{Times(v[0], v), Times(v[1], v), Times(v[2], v)} }

// Trace is the sum of the diagonal.
func Trace(x Matrix) float64 { return x[0][0] + x[1][1] + x[2][2] }

// Dot is x'y.
func Dot(x, y Vector) float64 { return x[0]*y[0] + x[1]*y[1] + x[2]*y[2] }

// Quadratic is v'x·v.
func Quadratic(x Matrix, v Vector) float64 {
	a, b, c := v[0], v[1], v[2]
	return a*(x[0][0]*a+x[0][1]*b+x[0][2]*c) + b*(x[1][0]*a+x[1][1]*b+x[1][2]*c) + c*(x[2][0]*a+x[2][1]*b+x[2][2]*c)
}

// Times is s·v.
func Times(s float64, v Vector) Vector { return Vector{s * v[0], s * v[1], s * v[2]} }

// Minus is x − y.
func Minus(x, y Vector) Vector { return Vector{x[0] - y[0], x[1] - y[1], x[2] - y[2]} }

// Plus is x + y.
func Plus(x, y Vector) Vector { return Vector{x[0] + y[0], x[1] + y[1], x[2] + y[2]} }

// Inverse returns the inverse of a positive definite matrix, by cofactors; the result is symmetric to the last bit.
func Inverse(x Matrix) Matrix {
	InverseTo(&x, &x)
	return x
}

// InverseLog returns [Inverse], and the logarithm of the determinant of x.
func InverseLog(x Matrix) (inv Matrix, logDet float64) {
	det := InverseTo(&inv, &x)
	return inv, math.Log(max(det, 1e-300))
}

// InverseTo sets inv, which may be x, to the [Inverse] of x, and returns the determinant of x.
func InverseTo(inv, x *Matrix) (det float64) {
	a := x[1][1]*x[2][2] - x[1][2]*x[2][1]
	b := x[1][2]*x[2][0] - x[1][0]*x[2][2]
	c := x[1][0]*x[2][1] - x[1][1]*x[2][0]
	det = x[0][0]*a + x[0][1]*b + x[0][2]*c
	d := x[0][0]*x[2][2] - x[0][2]*x[2][0]
	e := x[0][1]*x[2][0] - x[0][0]*x[2][1]
	f := x[0][0]*x[1][1] - x[0][1]*x[1][0]
	a, b, c, d, e, f = a/det, b/det, c/det, d/det, e/det, f/det
	inv[0], inv[1], inv[2] = Vector{a, b, c}, Vector{b, d, e}, Vector{c, e, f}
	return det
}

// Root returns the Cholesky root of x, positive semidefinite: the lower triangular L with L·L' = x.
func Root(x Matrix) (l Matrix) {
	tiny := 1e-12 * max(Trace(x), 1e-12)
	if d := x[0][0]; d > tiny {
		d = math.Sqrt(d)
		l[0][0], l[1][0], l[2][0] = d, x[1][0]/d, x[2][0]/d
	}
	if d := x[1][1] - l[1][0]*l[1][0]; d > tiny {
		d = math.Sqrt(d)
		l[1][1], l[2][1] = d, (x[2][1]-l[2][0]*l[1][0])/d
	}
	if d := x[2][2] - l[2][0]*l[2][0] - l[2][1]*l[2][1]; d > tiny {
		l[2][2] = math.Sqrt(d)
	}
	return l
}

// Determinant returns the determinant of the symmetric matrix x, and whether x is positive definite, beyond rounding.
func Determinant(x Matrix) (det float64, definite bool) {
	minor := x[0][0]*x[1][1] - x[0][1]*x[1][0]
	det = x[2][2]*minor - x[1][2]*(x[0][0]*x[2][1]-x[0][1]*x[2][0]) + x[0][2]*(x[1][0]*x[2][1]-x[1][1]*x[2][0])
	a, b, c := x[0][0], x[1][1], x[2][2]
	return det, a > 0 && b > 0 && c > 0 && minor > 1e-12*a*b && det > 1e-12*a*b*c && !math.IsInf(det, 0)
}

// Semidefinite returns the positive semidefinite matrix nearest to the symmetric matrix x: negative eigenvalues become 0.
func Semidefinite(x Matrix) Matrix {
	if _, ok := Determinant(x); ok { // the usual case
		for i := range 3 {
			for j := range i {
				x[i][j] = (x[i][j] + x[j][i]) / 2
				x[j][i] = x[i][j]
			}
		}
		return x
	}
	s := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			s.SetSym(i, j, (x[i][j]+x[j][i])/2)
		}
	}
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		return Diag(Vector{max(0, x[0][0]), max(0, x[1][1]), max(0, x[2][2])})
	}
	var v mat.Dense
	e.VectorsTo(&v)
	var p Matrix
	for k, l := range e.Values(nil) {
		if l <= 0 {
			continue
		}
		p = Add(p, Scale(l, Outer(Vector{v.At(0, k), v.At(1, k), v.At(2, k)})))
	}
	return p
}

// Mean returns the mean of points, and the matrix of sums of squares and products around it.
func Mean(points []Vector) (m Vector, ss Matrix) {
	for _, x := range points {
		m = Plus(m, x)
	}
	for i := range m {
		m[i] /= float64(len(points))
	}
	for _, x := range points {
		ss = Add(ss, Outer(Minus(x, m)))
	}
	return m, ss
}
