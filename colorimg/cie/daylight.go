package cie

import "math"

// The range of [Daylight]. CIE 15 defines the locus from 4000 K; the formula
// runs on smoothly to 3800 K, which late sun reaches.
const (
	MinDaylight = 3800
	MaxDaylight = 25000
)

// Daylight returns the white point, with Y = 1, of the CIE daylight illuminant of a correlated colour temperature: direct
// sun has about 5200 K, an overcast sky 6500 K, open shade under a blue sky 8000 K and more. A temperature outside
// [MinDaylight] to [MaxDaylight] is taken as the nearer of the two; NaN gives NaN. Illuminant D65 has 6504 K and D50
// 5003 K, as the constant c2 of Planck's law was changed after they were named.
//
// Source: CIE 15, the CIE daylight locus (from memory); TestDaylight checks the
// chromaticities of D50, D55, D65 and D75.
func Daylight(kelvin float64) XYZ {
	t := min(max(kelvin, MinDaylight), MaxDaylight) // keeps NaN
	m := 1e3 / t
	x := ((-4.6070*m+2.9678)*m+0.09911)*m + 0.244063
	if t > 7000 {
		x = ((-2.0064*m+1.9018)*m+0.24748)*m + 0.237040
	}
	y := (-3.000*x+2.870)*x - 0.275
	return XYZ{x / y, 1, (1 - x - y) / y}
}

// UV returns the CIE 1976 u', v' chromaticity, in which equal distances look about
// equally different. Black and NaN give NaN.
//
// Source: CIE 15; ISO/CIE 11664-5.
func (x XYZ) UV() (u, v float64) {
	s := x.X + 15*x.Y + 3*x.Z
	return 4 * x.X / s, 9 * x.Y / s
}

// DaylightDistance returns how far the light x is from daylight: the distance duv in u', v' to the nearest point of the
// daylight locus, and the colour temperature of that point, within [MinDaylight] to [MaxDaylight]. A distance of 0.004 is
// about what an eye sees side by side; lamps, and light through leaves or from a painted wall, are mostly 0.01 or more
// away. Luminance does not count. Black and NaN give NaN.
//
// It searches in steps of 1e6/T (mired), in which equal steps look about equally large, and then refines the best step, so
// that it needs no start and finds the nearest of several minima.
func DaylightDistance(x XYZ) (kelvin, duv float64) {
	u, v := x.UV()
	if math.IsNaN(u) || math.IsNaN(v) {
		return math.NaN(), math.NaN()
	}
	distance := func(mired float64) float64 {
		du, dv := Daylight(1e6 / mired).UV()
		return math.Hypot(u-du, v-dv)
	}
	const low, high, steps = 1e6 / MaxDaylight, 1e6 / MinDaylight, 64
	const step = (high - low) / steps
	best, duv := low, distance(low)
	for i := 1; i <= steps; i++ {
		if m := low + float64(i)*step; distance(m) < duv {
			best, duv = m, distance(m)
		}
	}

	// Golden section; within a step the distance has one minimum.
	const ratio = 0.6180339887498949
	a, b := max(low, best-step), min(high, best+step)
	for b-a > 1e-6 {
		if c, d := b-ratio*(b-a), a+ratio*(b-a); distance(c) < distance(d) {
			b = d
		} else {
			a = c
		}
	}
	if d := distance((a + b) / 2); d < duv {
		best, duv = (a+b)/2, d
	}
	return 1e6 / best, duv
}
