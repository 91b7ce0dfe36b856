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
		w := cie.SRGB.XYZ(g)
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
