package cie

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Chromaticities of the CIE daylight illuminants at their temperatures: CIE 15
// tables (from memory). The locus meets them within 1.5e-4 only: its own yD, of
// three-digit coefficients, gives 0.34754 at D55's xD where the table has 0.34743.
func TestDaylight(t *testing.T) {
	for _, k := range []struct {
		name         string
		kelvin, x, y float64
	}{
		{"D50", 5003, 0.34567, 0.35850},
		{"D55", 5503, 0.33242, 0.34743},
		{"D65", 6504, 0.31271, 0.32902},
		{"D75", 7504, 0.29902, 0.31485},
	} {
		if x, y := chromaticity(Daylight(k.kelvin)); !near(x, k.x, 1e-4) || !near(y, k.y, 1.5e-4) {
			t.Errorf("Daylight(%s) = %.5f, %.5f, want %.5f ± 0.0001, %.5f ± 0.00015", k.name, x, y, k.x, k.y)
		}
	}
}

func chromaticity(c XYZ) (x, y float64) {
	s := c.X + c.Y + c.Z
	return c.X / s, c.Y / s
}

// u', v' of D65 and A: CIE 15 tables (from memory), four digits.
func TestUV(t *testing.T) {
	for _, k := range []struct {
		what string
		c    XYZ
		u, v float64
	}{
		{"D65", XYZ(D65), 0.1978, 0.4683},
		{"A", XYZ{1.09850, 1, 0.35585}, 0.2560, 0.5243},
	} {
		if u, v := k.c.UV(); !near(u, k.u, 5e-5) || !near(v, k.v, 5e-5) {
			t.Errorf("UV(%s) = %.5f, %.5f, want %.4f, %.4f ± 0.00005", k.what, u, v, k.u, k.v)
		}
	}
}

// The locus agrees with an independent method, McCamy 1992, Color Res. Appl.
// 17:142, which falls behind above 10 000 K.
func TestDaylightCCT(t *testing.T) {
	for k := 4000.0; k <= 12000; k += 250 {
		tolerance := 0.012
		if k > 10000 {
			tolerance = 0.035
		}
		x, y := chromaticity(Daylight(k))
		n := (x - 0.3320) / (0.1858 - y)
		if got := ((449*n+3525)*n+6823.3)*n + 5520.33; !near(got, k, tolerance*k) {
			t.Errorf("McCamy's temperature of Daylight(%g) = %.1f, want within %g %%", k, got, 100*tolerance)
		}
	}
}

func TestDaylightRange(t *testing.T) {
	for _, k := range []struct{ kelvin, as float64 }{{0, MinDaylight}, {-5, MinDaylight}, {3000, MinDaylight}, {1e9, MaxDaylight},
		{math.Inf(1), MaxDaylight}} {
		if got, want := Daylight(k.kelvin), Daylight(k.as); got != want {
			t.Errorf("Daylight(%g) = %v, want that of %g, %v", k.kelvin, got, k.as, want)
		}
	}
	if got := Daylight(math.NaN()); !bad(got.X) {
		t.Errorf("Daylight(NaN) = %v, want NaN", got)
	}
	// The two pieces of CIE 15 meet at 7000 K.
	if a, b := Daylight(7000), Daylight(math.Nextafter(7000, 8000)); !nearXYZ(a, b, 2e-4) {
		t.Errorf("Daylight at 7000 K jumps from %v to %v", a, b)
	}
}

// A point of the locus is its own nearest point, at any brightness.
func TestDaylightDistanceOnLocus(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := 1e6 / rapid.Float64Range(1e6/MaxDaylight, 1e6/MinDaylight).Draw(t, "mired")
		s := rapid.Float64Range(1e-3, 1e3).Draw(t, "scale")
		c := Daylight(k)
		got, duv := DaylightDistance(XYZ{s * c.X, s * c.Y, s * c.Z})
		// At 7000 K the pieces overlap by some kelvin.
		if duv > 1e-6 || !near(1e6/got, 1e6/k, 0.2) {
			t.Fatalf("DaylightDistance(daylight of %g K) = %g, %g, want %g, 0", k, got, duv, k)
		}
	})
}

// Against trying every temperature in turn.
func TestDaylightDistanceSlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := fromXY(rapid.Float64Range(0.2, 0.5).Draw(t, "x"), rapid.Float64Range(0.2, 0.5).Draw(t, "y"))
		u, v := c.UV()
		slow := math.Inf(1)
		for m := 1e6 / MaxDaylight; m <= 1e6/MinDaylight; m += 0.02 {
			du, dv := Daylight(1e6 / m).UV()
			slow = min(slow, math.Hypot(u-du, v-dv))
		}
		kelvin, duv := DaylightDistance(c)
		if !near(duv, slow, 1e-5) {
			t.Fatalf("DaylightDistance(%v) = %g K, %.7f, want distance %.7f", c, kelvin, duv, slow)
		}
		if du, dv := Daylight(kelvin).UV(); !near(math.Hypot(u-du, v-dv), duv, 1e-12) {
			t.Fatalf("DaylightDistance(%v): %g K is not %.7f away", c, kelvin, duv)
		}
	})
}

func TestDaylightDistanceLights(t *testing.T) {
	for _, k := range []struct {
		what      string
		c         XYZ
		low, high float64 // of the distance
	}{
		{"D65", XYZ(D65), 0, 0.0005},
		{"D50", XYZ(D50), 0, 0.0005},
		// A lamp is past the warm end: u', v' 0.2560, 0.5243 against 0.2276, 0.5085
		// of daylight at 3800 K, worked out by hand: 0.0325.
		{"illuminant A", fromXY(0.44757, 0.40745), 0.0323, 0.0327},
		{"a green wall", Lab{90, -20, 10}.XYZ(), 0.01, 0.05},
	} {
		if kelvin, duv := DaylightDistance(k.c); !(duv >= k.low && duv <= k.high) {
			t.Errorf("DaylightDistance(%s) = %.0f K, %.4f, want distance %g to %g", k.what, kelvin, duv, k.low, k.high)
		}
	}
	for _, c := range []XYZ{{}, {math.NaN(), 1, 1}, {math.Inf(1), 1, 1}} {
		if kelvin, duv := DaylightDistance(c); !math.IsNaN(kelvin) || !math.IsNaN(duv) {
			t.Errorf("DaylightDistance(%v) = %g, %g, want NaN", c, kelvin, duv)
		}
	}
}

func BenchmarkDaylightDistance(b *testing.B) {
	c := Lab{90, 3, 8}.XYZ()
	for b.Loop() {
		DaylightDistance(c)
	}
}
