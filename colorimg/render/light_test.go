package render_test

import (
	"math"
	"slices"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// Chromaticities of the CIE D illuminants, 2 degree observer (CIE 15, from
// memory). Their nominal temperatures times 1.4388/1.4380 are the ones the
// formula takes, as the second radiation constant was revised.
func TestDaylight(t *testing.T) {
	for _, tt := range []struct {
		name         string
		kelvin, x, y float64
	}{
		{"D50", 5000, 0.34567, 0.35850},
		{"D55", 5500, 0.33242, 0.34743},
		{"D65", 6500, 0.31271, 0.32902},
		{"D75", 7500, 0.29902, 0.31485},
	} {
		x, y := render.Daylight(tt.kelvin * 1.4388 / 1.4380)
		if math.Abs(x-tt.x) > 0.00015 || math.Abs(y-tt.y) > 0.00015 {
			t.Errorf("Daylight(%s) = %.5f, %.5f, want %.5f, %.5f ± 0.00015", tt.name, x, y, tt.x, tt.y)
		}
	}
}

// McCamy's formula finds the temperature back from the light that the gains
// make of white: n = (x - 0.3320)/(0.1858 - y), CCT = 449 n³ + 3525 n² +
// 6823.3 n + 5520.33 (McCamy 1992, Color Res. Appl. 17:142, from memory). It
// is good to a few kelvin from 5000 to 7000 K and worse to either side.
func TestGainsGiveTheTemperatureBack(t *testing.T) {
	for _, kelvin := range []float64{4000, 4500, 5000, 5500, 6000, 6504, 7000, 8000, 10000} {
		g := render.Gains(kelvin, 1)
		if g[1] != 1 {
			t.Errorf("Gains(%.0f) green = %v, want 1", kelvin, g[1])
		}
		w := cie.SRGB.XYZ(cie.RGB{R: g[0], G: g[1], B: g[2]})
		sum := w.X + w.Y + w.Z
		n := (w.X/sum - 0.3320) / (0.1858 - w.Y/sum)
		got := 449*n*n*n + 3525*n*n + 6823.3*n + 5520.33
		share := 0.002
		if kelvin < 5000 || kelvin > 7000 {
			share = 0.015
		}
		if math.Abs(got-kelvin) > share*kelvin {
			t.Errorf("temperature of Gains(%.0f) = %.0f, want %.0f ± %.0f", kelvin, got, kelvin, share*kelvin)
		}
	}
	for i, v := range render.Gains(6504, 1) { // D65 is what the picture is balanced for
		if math.Abs(v-1) > 0.002 {
			t.Errorf("Gains(6504)[%d] = %.5f, want 1 ± 0.002", i, v)
		}
	}
}

func hypot(p, q [2]float64) float64 { return math.Hypot(p[0]-q[0], p[1]-q[1]) }
