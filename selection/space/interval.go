package space

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// Metric returns the quadratic form M that approximates CIEDE2000 near the colour c: the
// distance of two colours around c that differ by v is about √(v'Mv).
func Metric(c Vector) Matrix {
	d2 := func(v Vector) float64 {
		var p, q Vector
		for i := range 3 {
			p[i], q[i] = c[i]+v[i]/2, c[i]-v[i]/2
		}
		d := cie.DeltaE2000(Lab(p), Lab(q))
		return d * d
	}
	var m Matrix
	e := [3]Vector{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for i := range 3 {
		m[i][i] = d2(e[i])
	}
	for i := range 3 {
		for j := range i {
			m[i][j] = (d2(Plus(e[i], e[j])) - m[i][i] - m[j][j]) / 2
			m[j][i] = m[i][j]
		}
	}
	return Semidefinite(m)
}

// SpreadError turns a standard error in Delta E 2000 into standard errors of L*, a* and b*: the same
// in each, of such a size that together they give that Delta E near the colour c.
func SpreadError(c cie.Lab, deltaE float64) [3]float64 {
	s := deltaE / math.Sqrt(Trace(Metric(Of(c))))
	return [3]float64{s, s, s}
}

// Spread transforms the error covariance cov of the colour x into coordinates where Delta E is the Euclidean distance. It
// returns the covariance a, and u, the unit vector from the target to x, there.
//
// The metric is that half way between x and target, scaled so that the error along u is the one that follows
// from the gradient of the distance at x, as CIEDE2000 is smaller than its metric over large differences.
func Spread(x, target Vector, cov Matrix) (a Matrix, u Vector) {
	var mid Vector
	for i := range 3 {
		mid[i] = (x[i] + target[i]) / 2
	}
	l := Transpose(Root(Metric(mid)))
	a = Mul(Mul(l, cov), Transpose(l))
	u = Apply(l, Minus(x, target))
	n := math.Sqrt(Dot(u, u))
	if n < 0.3 { // too near the target for a gradient
		return a, Vector{1, 0, 0}
	}
	for i := range 3 {
		u[i] /= n
	}
	var g Vector
	const h = 0.25
	for i := range 3 {
		p, q := x, x
		p[i], q[i] = p[i]+h, q[i]-h
		g[i] = (cie.DeltaE2000(Lab(p), Lab(target)) - cie.DeltaE2000(Lab(q), Lab(target))) / (2 * h)
	}
	if along := Dot(u, Apply(a, u)); along > 0 {
		a = Scale(min(3, max(0.1, Dot(g, Apply(cov, g))/along)), a)
	}
	return a, u
}

// Interval returns the 95 % confidence interval of the true distance to the target, where x was measured at distance d with
// error covariance cov: all distances under which a measurement as near as d, or as far, has a chance of at least 2.5 %. A
// plant that is truly on target is measured at some distance; low is then 0, and the interval keeps its coverage, which
// d ± 2 s would not. wide is the [Widening] for the degrees of freedom of cov.
//
// Source: the squared distance is a quadratic form in normal variables; its tails by Pearson's three-moment
// approximation, Imhof 1961, Biometrika 48:419. TestIntervalCoverage simulates.
func Interval(x, target Vector, d float64, cov Matrix, wide float64) (low, high float64) {
	a, u := Spread(x, target, cov)
	a = Scale(wide*wide, a)
	a2 := Mul(a, a)
	t1, t2, t3 := Trace(a), Trace(a2), Trace(Mul(a2, a))
	u1, u2 := Dot(u, Apply(a, u)), Dot(u, Apply(a2, u))
	if !(t1 > 0) {
		return d, d
	}
	// farther returns the chance of measuring a distance above d when the true one is delta.
	farther := func(delta float64) float64 {
		e := delta * delta
		c1, c2, c3 := t1+e, t2+2*e*u1, t3+3*e*u2
		k := c2 * c2 * c2 / (c3 * c3)
		y := (d*d-c1)*math.Sqrt(k/c2) + k
		if y <= 0 {
			return 1
		}
		return distuv.ChiSquared{K: k}.Survival(y)
	}
	width := math.Sqrt(t1)
	low = solve(farther, 0.025, 0, d)
	high = solve(farther, 0.975, 0, d+12*width)
	// A measurement that is near by luck must not make the interval narrower than the error.
	return min(low, d), max(high, d, width)
}

// Widening returns the factor on standard errors for a 95 % interval whose covariance has df degrees of freedom: Student's
// t over the normal quantile.
func Widening(df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975) / distuv.UnitNormal.Quantile(0.975)
}

// solve returns, by bisection, the delta in [from, to] where the rising function f reaches p, or the nearer end.
func solve(f func(float64) float64, p, from, to float64) float64 {
	if f(from) >= p {
		return from
	}
	for range 24 {
		m := (from + to) / 2
		if f(m) < p {
			from = m
		} else {
			to = m
		}
	}
	return (from + to) / 2
}
