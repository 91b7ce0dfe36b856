package genetics

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Intensity returns the selection intensity: how many standard deviations the best keep of n plants lie above the mean of
// all, on average, in a normal population. It is 0 when all are kept, and NaN unless 1 ≤ keep ≤ n.
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

// ParentsToHold returns how many parents a held line needs for its inbreeding to rise by no
// more than most a season (such as 0.01): equal where each parent gives the same
// number of plants to the next season, and chance where that number is random.
//
// Source: ΔF = 1/(2N) with N the effective number, which is the number of parents when chance decides and twice that
// when each gives the same: Falconer and Mackay 1996, chapter 4.
func ParentsToHold(most float64) (equal, chance int) {
	return int(math.Ceil(1/(4*most) - 1e-9)), int(math.Ceil(1/(2*most) - 1e-9))
}
