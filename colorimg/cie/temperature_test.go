package cie

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Chromaticities and correlated colour temperatures of CIE illuminants, 2 degree
// observer: CIE 15 tables (from memory).
func TestCCT(t *testing.T) {
	for _, k := range []struct {
		name                  string
		x, y, want, tolerance float64
	}{
		{"A", 0.44757, 0.40745, 2856, 3},
		{"C", 0.31006, 0.31616, 6774, 8},
		{"D50", 0.34567, 0.35850, 5003, 4},
		{"D55", 0.33242, 0.34743, 5503, 4},
		{"D65", 0.31271, 0.32902, 6504, 4},
		{"D75", 0.29902, 0.31485, 7504, 20},
		{"F2", 0.37208, 0.37529, 4230, 10},
		{"F7", 0.31292, 0.32933, 6500, 10},
		{"F11", 0.38052, 0.37713, 4000, 10},
	} {
		got, ok := fromXY(k.x, k.y).CCT()
		if !ok || !near(got, k.want, k.tolerance) {
			t.Errorf("CCT(%s) = %.1f, %v, want %g ± %g, true", k.name, got, ok, k.want, k.tolerance)
		}
	}
}

func TestCCTOutside(t *testing.T) {
	for _, k := range []struct {
		what string
		c    XYZ
	}{
		{"sRGB green", SRGB.XYZ(RGB{0, 1, 0})},
		{"sRGB red", SRGB.XYZ(RGB{1, 0, 0})},
		{"sRGB blue", SRGB.XYZ(RGB{0, 0, 1})},
		{"candle light", fromXY(0.5268, 0.4133)}, // Planckian at 2000 K is 0.5267, 0.4133; this is past it
		{"20 000 K sky", Daylight(20000)},
		{"black", XYZ{}},
		{"NaN", XYZ{math.NaN(), 1, 1}},
		{"infinite", XYZ{math.Inf(1), 1, 1}},
		{"negative light", XYZ{-0.95, -1, -1.09}},
		{"the epicentre", fromXY(0.3320, 0.1858)},
	} {
		if got, ok := k.c.CCT(); ok {
			t.Errorf("CCT(%s) = %.0f, true, want false", k.what, got)
		}
	}
}

// Brightness does not count.
func TestCCTScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(MinDaylight, 12000).Draw(t, "kelvin")
		s := rapid.Float64Range(1e-6, 1e6).Draw(t, "scale")
		c := Daylight(k)
		want, ok := c.CCT()
		got, okScaled := XYZ{s * c.X, s * c.Y, s * c.Z}.CCT()
		if !ok || !okScaled || !near(got, want, 1e-6) {
			t.Fatalf("CCT(daylight of %g K) = %g, %v, scaled by %g %g, %v", k, want, ok, s, got, okScaled)
		}
	})
}

// The isotemperature table of Robertson 1968, J. Opt. Soc. Am. 58:1528, as in
// Wyszecki and Stiles, Color Science (from memory): 1e6/T, u, v of the
// Planckian locus, five digits. Krystek's fit is good to 8e-5 there.
func TestPlanckian(t *testing.T) {
	for _, k := range [][3]float64{
		{80, 0.18740, 0.28668}, {100, 0.19032, 0.29326}, {125, 0.19462, 0.30141},
		{150, 0.19962, 0.30921}, {175, 0.20525, 0.31647}, {200, 0.21142, 0.32312},
		{225, 0.21807, 0.32909}, {250, 0.22511, 0.33439}, {275, 0.23247, 0.33904},
		{300, 0.24010, 0.34308}, {400, 0.27218, 0.35407}, {500, 0.30500, 0.35907},
	} {
		u, v := planckian(1e6 / k[0])
		if !near(u, k[1], 1.5e-4) || !near(v, k[2], 1.5e-4) {
			t.Errorf("planckian(%.0f K) = %.5f, %.5f, want %.5f, %.5f ± 0.00015", 1e6/k[0], u, v, k[1], k[2])
		}
	}
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
	// D65's x, y: 0.31271, 0.32902; CIE 15 (from memory).
	if x, y := XYZ(D65).Chromaticity(); !near(x, 0.31271, 2e-5) || !near(y, 0.32902, 2e-5) {
		t.Errorf("Chromaticity(D65) = %.5f, %.5f, want 0.31271, 0.32902 ± 0.00002", x, y)
	}
}
