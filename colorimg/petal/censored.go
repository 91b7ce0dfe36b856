package petal

import "math"

// A channel that is cut off tells only that it is at least so bright. What is
// expected of it then is that of a normal variable, its logarithm, of which
// the mean and the standard deviation are known from the other channels.

// readingError is the standard deviation of the logarithm of a channel near 1
// by the JPEG's rounding of colour. Our own choice, from real photos.
const readingError = 0.03

// nearCut is the mean and the variance of the logarithm of a channel that is
// expected at m to within sd, was read as v near the cut at 0, and cannot be
// above most. It was cut off, or it was not and is about v: the two are
// weighed by how likely the reading is in either case.
func nearCut(m, sd, v, most float64) (mean, variance float64) {
	v = min(v, 0) // the rounding can lift it a little
	vs, vn := sd*sd, readingError*readingError
	// Below the cut: a normal variable read with an error, which is normal too.
	ma, va := (m*vn+v*vs)/(vs+vn), vs*vn/(vs+vn)
	a := math.Exp(-(v-m)*(v-m)/(2*(vs+vn))) / math.Sqrt(vs+vn) * below(-ma/math.Sqrt(va))
	// Cut off: the reading is 0 with that error, whatever the channel.
	b := math.Exp(-v*v/(2*vn)) / readingError * max(0, below((most-m)/sd)-below(-m/sd))
	if a+b < 1e-12 { // all but impossible either way
		a, b = 1, 0
		if m > 0 {
			a, b = 0, 1
		}
	}
	a, b = a/(a+b), b/(a+b)
	ta, xa := between(ma, math.Sqrt(va), math.Inf(-1), 0)
	tb, xb := between(m, sd, 0, max(most, 0))
	mean = max(a*ta+b*tb, v-3*readingError) // where the other channels say something else, they are wrong
	return mean, a*(xa+(ta-mean)*(ta-mean)) + b*(xb+(tb-mean)*(tb-mean))
}

// below is the standard normal distribution function.
func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// between is the mean and the variance of a normal variable of mean m and
// standard deviation sd, given that it lies from least to most.
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
// the density falls nearly exponentially from the nearer bound on.
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

func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
