package space

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// Metric is the quadratic form that CIEDE2000 is near the colour c: the
// distance of two colours around c that differ by v is √(v'Mv).
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

// SpreadError spreads a standard error in Delta E 2000 over L*, a* and b*: the same in
// each of them, as large as makes that Delta E around the colour c.
func SpreadError(c cie.Lab, deltaE float64) [3]float64 {
	s := deltaE / math.Sqrt(Trace(Metric(Of(c))))
	return [3]float64{s, s, s}
}

// Spread is the error covariance cov around the colour x, seen in units of Delta E toward the target: the matrix a in
// coordinates where distance is the plain one, and u, the unit vector from the target to x there.
//
// The metric is taken half way, and scaled so that the distance's own
// gradient at x gives the error along u: CIEDE2000 shrinks far steps.
func Spread(x, target Vector, cov Matrix) (a Matrix, u Vector) {
	var mid Vector
	for i := range 3 {
		mid[i] = (x[i] + target[i]) / 2
	}
	l := Transpose(Root(Metric(mid)))
	a = Mul(Mul(l, cov), Transpose(l))
	u = Apply(l, Minus(x, target))
	n := math.Sqrt(Dot(u, u))
	if n < 0.3 { // no gradient to speak of
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

// Interval is the 95 % interval of the true distance when x was seen at distance d from the target with error
// covariance cov: all distances under which an observation as near, or as far, as d is not rarer than 2.5 %. A plant
// that truly is on target is seen at some distance, so Low is 0 there and the interval keeps its coverage, which one of
// d ± 2 s would not. wide is the
// [Widening] by what cov rests on.
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
	// farther is the chance to see a distance above d when the truth is delta.
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
	// An observation luckily near does not make the error smaller than it is.
	return min(low, d), max(high, d, width)
}

// Widening is Student's factor of an interval of 95 % whose covariance rests on df.
func Widening(df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975) / distuv.UnitNormal.Quantile(0.975)
}

// solve is the delta in [from, to] where the rising function f reaches p, or the end nearer to it.
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
