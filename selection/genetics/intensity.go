package genetics

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Intensity is how many standard deviations the best keep of n plants lie above the
// mean of all, on average, in a normal population: the selection intensity. It is 0
// when all are kept, and NaN for numbers that make no sense.
//
// Source: Falconer and Mackay 1996, appendix table A, for large n; for small n Burrows'
// correction (1972, Biometrics 28:1091).
func Intensity(keep, n int) float64 {
	if keep < 1 || keep > n {
		return math.NaN()
	}
	if keep == n {
		return 0
	}
	p := float64(keep) / float64(n)
	normal := distuv.UnitNormal
	i := normal.Prob(normal.Quantile(1-p)) / p
	return i - float64(n-keep)/(2*float64(keep)*float64(n+1)*i)
}
