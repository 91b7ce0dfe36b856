package cie

import "math"

// Difference is CIEDE2000 with the parts it is made of, as seen from the first
// colour to the second. All are in units of Delta E 2000, and
//
//	Total² = Lightness² + Chroma² + Hue² + Rotation
type Difference struct {
	Total     float64 // never negative
	Lightness float64 // ΔL'/SL; positive: the second is lighter
	Chroma    float64 // ΔC'/SC; positive: the second is more vivid
	// ΔH'/SH; positive: the second is counter-clockwise of the first in a*b* (red to yellow to
	// green to blue), the shorter way round; 0 when either is grey
	Hue      float64
	Rotation float64 // RT · Chroma · Hue; of either sign, and nearly 0 except between blues (hue near 275°)
}

// DeltaE2000 returns the CIEDE2000 difference of x and y, with kL = kC = kH = 1. It is symmetric and never negative. L*
// is in [0, 100]; a* and b* are not bounded. NaN and infinity give NaN.
//
// The formula is discontinuous where hues are 180° apart: there, rounding changes the difference, by hundredths
// between near greys and by whole units between vivid colours, which are far apart anyway.
//
// Source: Sharma, Wu, Dalal 2005, doi:10.1002/col.20070; TestDeltaE2000Sharma checks its 34 pairs.
func DeltaE2000(x, y Lab) float64 { return Compare(x, y).Total }

// Compare returns the CIEDE2000 difference from x to y with its parts. Seen
// from y to x, Lightness, Chroma and Hue change sign and the rest stays.
//
// Source: as [DeltaE2000]; the parts are the terms of eq. 22.
func Compare(x, y Lab) Difference {
	if d, ok := compareFast(x, y); ok {
		return d
	}
	return compareSlow(x, y)
}

// compareFast is [Compare] without trigonometric functions: the mean hue is the direction of the sum of the two colours' unit
// vectors. ok is false for greys, numbers out of range and nearly opposite hues, which are left to compareSlow.
func compareFast(x, y Lab) (d Difference, ok bool) {
	const deg = math.Pi / 180
	sx, sy := x.A*x.A+x.B*x.B, y.A*y.A+y.B*y.B
	if !(sx > 1e-6 && sy > 1e-6 && sx < 1e12 && sy < 1e12) {
		return d, false
	}
	g := 1 + 0.5*(1-math.Sqrt(chroma7((math.Sqrt(sx)+math.Sqrt(sy))/2)))
	a1, a2 := g*x.A, g*y.A
	c1, c2 := math.Sqrt(a1*a1+x.B*x.B), math.Sqrt(a2*a2+y.B*y.B)
	cc := c1 * c2
	a, b := a1*c2+a2*c1, x.B*c2+y.B*c1 // 2 c1 c2 cos(Δh'/2) long
	n := math.Sqrt(a*a + b*b)
	if !(n > 0.01*cc) {
		return d, false
	}
	sin, cos := b/n, a/n // of the mean hue, eq. 14
	cm := (c1 + c2) / 2
	k := (x.L+y.L)/2 - 50
	k *= k
	rt := 0.0
	if sin < 0 || cos < -0.57 { // hues up to 124° are far from where colours rotate
		if u := (hueDegrees(cos, sin) - 275) / 25; !(u*u > 36) {
			rt = -2 * math.Sqrt(chroma7(cm)) * math.Sin(60*math.Exp(-u*u)*deg)
		}
	}
	d.Lightness = (y.L - x.L) / (1 + 0.015*k/math.Sqrt(20+k))
	d.Chroma = (c2 - c1) / (1 + 0.045*cm)
	d.Hue = 2 * math.Sqrt(cc) * (a1*y.B - a2*x.B) / (n * (1 + 0.015*cm*hueWeight(sin, cos))) // sin Δh' = 2 sin Δh'/2 cos Δh'/2
	d.Rotation = rt * d.Chroma * d.Hue
	d.Total = math.Sqrt(max(0, d.Lightness*d.Lightness+d.Chroma*d.Chroma+d.Hue*d.Hue+d.Rotation))
	return d, true
}

// compareSlow is [Compare] as the source writes it.
func compareSlow(x, y Lab) Difference {
	const deg = math.Pi / 180
	cm := (length(x.A, x.B) + length(y.A, y.B)) / 2
	g := 0.5 * (1 - math.Sqrt(chroma7(cm)))
	a1, a2 := (1+g)*x.A, (1+g)*y.A
	c1, c2 := length(a1, x.B), length(a2, y.B)
	h1, h2 := hueDegrees(a1, x.B), hueDegrees(a2, y.B) // eq. 7

	dl, dc := y.L-x.L, c2-c1
	dh := 0.0
	hm := h1 + h2 // eq. 14, last case: one of the two has no hue
	if c1*c2 != 0 {
		dh = h2 - h1
		switch { // eq. 10
		case dh > 180:
			dh -= 360
		case dh < -180:
			dh += 360
		}
		switch { // eq. 14; the mean hue jumps when the hues are 180° apart
		case math.Abs(h1-h2) <= 180:
			hm = (h1 + h2) / 2
		case h1+h2 < 360:
			hm = (h1 + h2 + 360) / 2
		default:
			hm = (h1 + h2 - 360) / 2
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*deg)

	lm := (x.L + y.L) / 2
	cm = (c1 + c2) / 2
	t := hueWeight(math.Sincos(hm * deg))
	k := (lm - 50) * (lm - 50)
	sl := 1 + 0.015*k/math.Sqrt(20+k)
	sc := 1 + 0.045*cm
	sh := 1 + 0.015*cm*t
	rt := 0.0
	if u := (hm - 275) / 25; !(u*u > 36) { // beyond, less than the last digit of a float64
		rt = -2 * math.Sqrt(chroma7(cm)) * math.Sin(60*math.Exp(-u*u)*deg)
	}

	d := Difference{Lightness: dl / sl, Chroma: dc / sc, Hue: dH / sh}
	d.Rotation = rt * d.Chroma * d.Hue
	d.Total = math.Sqrt(max(0, d.Lightness*d.Lightness+d.Chroma*d.Chroma+d.Hue*d.Hue+d.Rotation))
	return d
}

// length returns √(a²+b²). It uses [math.Hypot], which is slow, only where the squares overflow or underflow.
func length(a, b float64) float64 {
	if s := a*a + b*b; s > 1e-280 && s < 1e300 {
		return math.Sqrt(s)
	}
	return math.Hypot(a, b)
}

// hueWeight returns T of eq. 15 from the sine and cosine of the mean hue h:
// 1 - 0.17 cos(h-30°) + 0.24 cos 2h + 0.32 cos(3h+6°) - 0.20 cos(4h-63°).
// It needs no cosines, which saves time as predictions call it millions of times.
func hueWeight(s, c float64) float64 {
	const (
		cos30, sin30 = 0.86602540378443864676, 0.5
		cos6, sin6   = 0.99452189536827333692, 0.10452846326765347140
		cos63, sin63 = 0.45399049973954679156, 0.89100652418836786236
	)
	c2, s2 := 2*c*c-1, 2*s*c
	c3, s3 := c*(4*c*c-3), s*(3-4*s*s)
	c4, s4 := 2*c2*c2-1, 2*s2*c2
	return 1 - 0.17*(c*cos30+s*sin30) + 0.24*c2 + 0.32*(c3*cos6-s3*sin6) - 0.20*(c4*cos63+s4*sin63)
}

// chroma7 returns C⁷ / (C⁷ + 25⁷), of eq. 4 and eq. 17, in a form that does not overflow.
func chroma7(c float64) float64 {
	r := 25 / c
	r2 := r * r
	return 1 / (1 + r2*r2*r2*r)
}
