package cie

import "math"

// Chromaticity returns the CIE 1931 x, y of the light. Black and NaN give NaN.
func (x XYZ) Chromaticity() (cx, cy float64) {
	s := x.X + x.Y + x.Z
	return x.X / s, x.Y / s
}

// UV returns the CIE 1976 u', v' of the light, in which equal distances look about
// equally different. Black and NaN give NaN.
//
// Source: CIE 15; ISO/CIE 11664-5.
func (x XYZ) UV() (u, v float64) {
	s := x.X + 15*x.Y + 3*x.Z
	return 4 * x.X / s, 9 * x.Y / s
}

// The range in which [XYZ.CCT] is sound.
const (
	// MinCCT and MaxCCT: below and above, the isotherms no longer meet in the
	// one point that McCamy's method supposes (Hernández-Andrés, Lee, Romero
	// 1999, Appl. Opt. 38:5703; from memory).
	MinCCT, MaxCCT = 2000, 12500

	// maxPlanckian is the distance from the Planckian locus, in CIE 1960 u, v,
	// beyond which a light has no correlated colour temperature (CIE 15).
	maxPlanckian = 0.05
)

// CCT returns the correlated colour temperature of the light. It is sound,
// and ok is true, from [MinCCT] to [MaxCCT] and within 0.05 of the Planckian
// locus in CIE 1960 u, v, the limit that CIE 15 sets for the notion itself. On
// daylight it is right to 1.2 % up to 10 000 K and then falls behind, by 3 % at
// 12 000 K. A light within that limit may still be too green or too pink to
// photograph in, which [DaylightDistance] tells. Where ok is false, kelvin is
// what the formula gives, and may be anything.
//
// Source: McCamy 1992, Color Res. Appl. 17:142; TestCCT checks CIE illuminants.
func (x XYZ) CCT() (kelvin float64, ok bool) {
	cx, cy := x.Chromaticity()
	n := (cx - 0.3320) / (0.1858 - cy)
	kelvin = ((449*n+3525)*n+6823.3)*n + 5520.33
	if !(x.Y > 0 && kelvin >= MinCCT && kelvin <= MaxCCT) { // also rejects NaN
		return kelvin, false
	}
	u, v := x.UV()
	pu, pv := planckian(kelvin)
	return kelvin, math.Hypot(u-pu, v*2/3-pv) <= maxPlanckian
}

// planckian returns the CIE 1960 u, v of a black body, for 1000 K to 15 000 K.
//
// Source: Krystek 1985, Color Res. Appl. 10:38 (from memory; TestPlanckian
// compares it with the table of Robertson 1968).
func planckian(t float64) (u, v float64) {
	return (0.860117757 + 1.54118254e-4*t + 1.28641212e-7*t*t) / (1 + 8.42420235e-4*t + 7.08145163e-7*t*t),
		(0.317398726 + 4.22806245e-5*t + 4.20481691e-8*t*t) / (1 - 2.89741816e-5*t + 1.61456053e-7*t*t)
}
