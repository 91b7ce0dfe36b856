package petal

import "math"

// A channel that is cut off is only known to be at least as bright as the cut.
// Its logarithm is taken as normal, with the mean and the standard deviation
// that the other channels predict, and truncated at the cut.

// readingError is the standard deviation of the logarithm of a channel near 1
// that JPEG's chroma quantisation causes. Our own choice, from real photos.
const readingError = 0.03

// nearCut returns the mean and the variance of the logarithm of a channel that
// is predicted as m with standard deviation sd, was read as v near the cut at
// 0, and cannot be above most. Either it was cut off, or it was not and is about
// v: the two cases are weighted by the likelihood of the reading.
func nearCut(m, sd, v, most float64) (mean, variance float64) {
	v = min(v, 0) // quantisation can raise it a little
	vs, vn := sd*sd, readingError*readingError
	// Below the cut: a normal variable that was read with a normal error.
	ma, va := (m*vn+v*vs)/(vs+vn), vs*vn/(vs+vn)
	a := math.Exp(-(v-m)*(v-m)/(2*(vs+vn))) / math.Sqrt(vs+vn) * below(-ma/math.Sqrt(va))
	// Cut off: the reading is 0 with that error, whatever the channel's value.
	b := math.Exp(-v*v/(2*vn)) / readingError * max(0, below((most-m)/sd)-below(-m/sd))
	if a+b < 1e-12 { // nearly impossible in both cases
		a, b = 1, 0
		if m > 0 {
			a, b = 0, 1
		}
	}
	a, b = a/(a+b), b/(a+b)
	ta, xa := between(ma, math.Sqrt(va), math.Inf(-1), 0)
	tb, xb := between(m, sd, 0, max(most, 0))
	mean = max(a*ta+b*tb, v-3*readingError) // the reading outweighs a prediction far below it
	return mean, a*(xa+(ta-mean)*(ta-mean)) + b*(xb+(tb-mean)*(tb-mean))
}

// below returns the standard normal distribution function at z.
func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// between returns the mean and the variance of a normal variable of mean m and
// standard deviation sd, truncated to [least, most].
//
// Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions
// 1, section 13.10.1, from memory; TestBetween compares it with sums.
func between(m, sd, least, most float64) (mean, variance float64) {
	if most <= least {
		return least, 0
	}
	l, h := (least-m)/sd, (most-m)/sd
	if l > 4 || h < -4 {
		return tail(m, sd, least, most)
	}
	mass := below(h) - below(l)
	if mass < 1e-6 {
		return min(max(m, least), most), 0
	}
	fl, fh := density(l), density(h)
	k := (fl - fh) / mass
	up, low := 0.0, 0.0 // the limits of z·φ(z), 0 at infinity
	if !math.IsInf(l, 0) {
		low = l * fl
	}
	if !math.IsInf(h, 0) {
		up = h * fh
	}
	return min(max(m+sd*k, least), most), max(0, sd*sd*(1+(low-up)/mass-k*k))
}

// tail is between for bounds that both lie far on one side of the mean, where
// the density falls off nearly exponentially from the nearer bound.
func tail(m, sd, least, most float64) (mean, variance float64) {
	near, dir := least, 1.0
	if most < m {
		near, dir = most, -1
	}
	fall := sd / math.Abs((near-m)/sd) // the length on which it falls by e
	at := fall
	if t := (most - least) / fall; t < 30 {
		at = fall * (1 - t/math.Expm1(t))
	}
	return near + dir*at, at * at
}

// density returns the standard normal density at z.
func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
