package report

import (
	"math"

	"hueward/colorimg/cie"
)

// reach returns the distance from target in the direction dir (a unit
// step in L*, a*, b*) at which the difference reaches within, at most limit.
func reach(target, dir cie.Lab, within, limit float64) float64 {
	at := func(t float64) float64 {
		return cie.DeltaE2000(target, cie.Lab{L: target.L + t*dir.L, A: target.A + t*dir.A, B: target.B + t*dir.B})
	}
	const step = 0.5
	hi := step
	for at(hi) < within {
		if hi >= limit {
			return limit
		}
		hi += step
	}
	lo := hi - step
	for range 30 {
		if mid := (lo + hi) / 2; at(mid) < within {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// contour returns the line around target, at its own lightness, where CIEDE2000 is within: a* and b* of n points,
// counter-clockwise from the +a* side.
func contour(target cie.Lab, within float64, n int) [][2]float64 {
	var out [][2]float64
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		t := reach(target, cie.Lab{A: c, B: s}, within, 120)
		out = append(out, [2]float64{target.A + t*c, target.B + t*s})
	}
	return out
}

// lightnessRange returns the lightest and darkest L* of the target's a* and
// b* that are still within the tolerance, inside 0 to 100.
func lightnessRange(target cie.Lab, within float64) (low, high float64) {
	low = target.L - reach(target, cie.Lab{L: -1}, within, max(0, target.L))
	high = target.L + reach(target, cie.Lab{L: 1}, within, max(0, 100-target.L))
	return max(0, low), min(100, high)
}
