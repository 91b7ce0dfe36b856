package selection

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// metric is the quadratic form that CIEDE2000 is near the colour c: the
// distance of two colours around c that differ by v is √(v'Mv).
func metric(c v3) m3 {
	d2 := func(v v3) float64 {
		var p, q v3
		for i := range 3 {
			p[i], q[i] = c[i]+v[i]/2, c[i]-v[i]/2
		}
		d := cie.DeltaE2000(lab(p), lab(q))
		return d * d
	}
	var m m3
	e := [3]v3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for i := range 3 {
		m[i][i] = d2(e[i])
	}
	for i := range 3 {
		for j := range i {
			m[i][j] = (d2(plus(e[i], e[j])) - m[i][i] - m[j][j]) / 2
			m[j][i] = m[i][j]
		}
	}
	return semidefinite(m)
}

// SpreadError spreads a standard error in Delta E 2000 over L*, a* and b*: the same in
// each of them, as large as makes that Delta E around the colour c.
func SpreadError(c cie.Lab, deltaE float64) [3]float64 {
	s := deltaE / math.Sqrt(trace(metric(vec(c))))
	return [3]float64{s, s, s}
}

// spread is the error covariance cov around the colour x, seen in units of
// Delta E toward the target: the matrix a in coordinates where distance is
// the plain one, and u, the unit vector from the target to x there.
//
// The metric is taken half way, and scaled so that the distance's own
// gradient at x gives the error along u: CIEDE2000 shrinks far steps.
func spread(x, target v3, cov m3) (a m3, u v3) {
	var mid v3
	for i := range 3 {
		mid[i] = (x[i] + target[i]) / 2
	}
	l := transpose(root(metric(mid)))
	a = mul(mul(l, cov), transpose(l))
	u = apply(l, minus(x, target))
	n := math.Sqrt(dot(u, u))
	if n < 0.3 { // no gradient to speak of
		return a, v3{1, 0, 0}
	}
	for i := range 3 {
		u[i] /= n
	}
	var g v3
	const h = 0.25
	for i := range 3 {
		p, q := x, x
		p[i], q[i] = p[i]+h, q[i]-h
		g[i] = (cie.DeltaE2000(lab(p), lab(target)) - cie.DeltaE2000(lab(q), lab(target))) / (2 * h)
	}
	if along := dot(u, apply(a, u)); along > 0 {
		a = scale(min(3, max(0.1, dot(g, apply(cov, g))/along)), a)
	}
	return a, u
}

// interval is the 95 % interval of the true distance when x was seen at
// distance d from the target with error covariance cov: all distances under
// which an observation as near, or as far, as d is not rarer than 2.5 %. A
// plant that truly is on target is seen at some distance, so Low is 0 there
// and the interval keeps its coverage, which one of d ± 2 s would not. df is
// what cov rests on.
//
// Source: the squared distance is a quadratic form in normal variables; its
// tails by Pearson's three-moment approximation, Imhof 1961, Biometrika
// 48:419. TestIntervalCoverage simulates.
func interval(x, target v3, d float64, cov m3, df float64) (low, high float64) {
	a, u := spread(x, target, cov)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975) / distuv.UnitNormal.Quantile(0.975)
	a = scale(t*t, a)
	a2 := mul(a, a)
	t1, t2, t3 := trace(a), trace(a2), trace(mul(a2, a))
	u1, u2 := dot(u, apply(a, u)), dot(u, apply(a2, u))
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

// solve is the delta in [from, to] where the rising function f reaches p, or
// the end nearer to it.
func solve(f func(float64) float64, p, from, to float64) float64 {
	if f(from) >= p {
		return from
	}
	for range 32 {
		m := (from + to) / 2
		if f(m) < p {
			from = m
		} else {
			to = m
		}
	}
	return (from + to) / 2
}
