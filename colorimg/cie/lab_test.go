package cie

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLabPublished(t *testing.T) {
	for _, k := range []struct {
		what      string
		got, want Lab
		tolerance float64
	}{
		// By definition; ISO/CIE 11664-4.
		{"D65 white", XYZ(D65).Lab(), Lab{100, 0, 0}, 1e-12},
		{"D50 white under D50", XYZ(D50).LabUnder(D50), Lab{100, 0, 0}, 1e-12},
		{"black", XYZ{}.Lab(), Lab{}, 1e-12},
		// Y = 18 gives L* = 49.496: ISO/CIE 11664-4, worked out again.
		{"18 % grey", XYZ{0.18 * D65.X, 0.18, 0.18 * D65.Z}.Lab(), Lab{49.496, 0, 0}, 5e-4},
		// The break: Y = 216/24389 is L* = 8 exactly.
		{"at the break", XYZ{D65.X * 216 / 24389, 216.0 / 24389, D65.Z * 216 / 24389}.Lab(), Lab{8, 0, 0}, 1e-12},
		// sRGB primaries under this white: B. Lindbloom's colour calculator
		// (from memory), printed to four digits.
		{"sRGB red", SRGB.XYZ(RGB{1, 0, 0}).Lab(), Lab{53.2408, 80.0925, 67.2032}, 2e-3},
		{"sRGB green", SRGB.XYZ(RGB{0, 1, 0}).Lab(), Lab{87.7347, -86.1827, 83.1793}, 2e-3},
		{"sRGB blue", SRGB.XYZ(RGB{0, 0, 1}).Lab(), Lab{32.2970, 79.1875, -107.8602}, 2e-3},
	} {
		if !nearLab(k.got, k.want, k.tolerance) {
			t.Errorf("Lab of %s = %.4f, want %.4f ± %g", k.what, k.got, k.want, k.tolerance)
		}
	}
}

// Both pieces of the transfer function, and their slopes, meet at the break.
func TestLabBreak(t *testing.T) {
	const h = 1e-6
	below, at, above := LabF(labEpsilon-h), LabF(labEpsilon), LabF(labEpsilon+h)
	if !near(at, 6.0/29, 1e-15) {
		t.Errorf("LabF(ε) = %.17g, want 6/29", at)
	}
	if left, right := (at-below)/h, (above-at)/h; !near(left, right, 2e-3) || !near(left, labKappa/116, 1e-6) {
		t.Errorf("slopes of labF at the break = %.6f and %.6f, want %.6f twice", left, right, labKappa/116)
	}
	for _, x := range []float64{0, 1e-9, labEpsilon - 1e-12, labEpsilon, labEpsilon + 1e-12, 0.5, 1, 2, -0.01} {
		if got := LabInverse(LabF(x)); !near(got, x, 1e-14) {
			t.Errorf("LabInverse(LabF(%g)) = %g", x, got)
		}
	}
}

func TestRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLab(t, "colour")
		if got := c.XYZ().Lab(); !nearLab(got, c, 1e-9) {
			t.Fatalf("%v to XYZ and back = %v", c, got)
		}
		if got := c.LCh().Lab(); !nearLab(got, c, 1e-9) {
			t.Fatalf("%v to LCh and back = %v", c, got)
		}
		if h := c.LCh(); !(h.H >= 0 && h.H < 360 && h.C >= 0) {
			t.Fatalf("%v as LCh = %v, want C ≥ 0 and h in [0, 360)", c, h)
		}
		for _, s := range []Space{SRGB, DisplayP3} {
			if got := s.XYZ(s.RGB(c.XYZ())).Lab(); !nearLab(got, c, 1e-8) {
				t.Fatalf("%v to %s and back = %v", c, s.Name, got)
			}
		}
	})
}

func TestLChHue(t *testing.T) {
	z := math.Copysign(0, -1)
	for _, k := range []struct {
		c    Lab
		want float64
	}{
		{Lab{50, 10, 0}, 0}, {Lab{50, 0, 10}, 90}, {Lab{50, -10, 0}, 180}, {Lab{50, 0, -10}, 270},
		{Lab{50, 10, 10}, 45},
		{Lab{50, 0, 0}, 0}, {Lab{50, z, 0}, 0}, {Lab{50, z, z}, 0}, // no chroma: 0 by our own rule
		{Lab{50, 10, -1e-20}, 0}, // would round to 360
	} {
		if got := k.c.LCh().H; !near(got, k.want, 1e-12) {
			t.Errorf("hue of %v = %g, want %g", k.c, got, k.want)
		}
	}
}

// Nothing panics on a number that is none, and nothing turns it into one.
func TestLabAwkward(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{nan, inf, -inf} {
		for _, c := range []Lab{{v, 0, 0}, {50, v, 0}, {50, 0, v}} {
			if got := c.XYZ(); !bad(got.X) && !bad(got.Y) && !bad(got.Z) {
				t.Errorf("%v as XYZ = %v, want something not finite", c, got)
			}
			if got := c.Hex(); got != "" {
				t.Errorf("%v as hex = %q, want none", c, got)
			}
			if got := Name(c); got != "" {
				t.Errorf("Name(%v) = %q, want none", c, got)
			}
		}
		if got := (XYZ{v, v, v}).Lab(); !bad(got.L) {
			t.Errorf("XYZ of %g as Lab = %v, want something not finite", v, got)
		}
		if got := Linear(v); !bad(got) {
			t.Errorf("Linear(%g) = %g", v, got)
		}
		if got := Encode(v); !bad(got) {
			t.Errorf("Encode(%g) = %g", v, got)
		}
	}
}

func bad(v float64) bool { return math.IsNaN(v - v) }
