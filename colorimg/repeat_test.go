package colorimg_test

import (
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// TestRepeatability: one plant in ten lights, exposures and arrangements reads
// with a standard deviation (root mean square Delta E 2000 from the mean) of at
// most 0.7. Three plants: orange, buff apricot and cream. A nearly white one (L* 90) reads with 0.8: a JPEG
// rounds an even card the same way everywhere, which tints pale petals most.
func TestRepeatability(t *testing.T) {
	for _, petal := range []cie.Lab{{L: 66, A: 37, B: 60}, {L: 76, A: 18, B: 42}, {L: 82, A: 6, B: 30}} {
		var scenes []render.Scene
		for i := range 10 {
			s := render.Scene{Width: 1000, Height: 750, Petal: petal, Form: render.SemiDouble, Diameter: 0.4 + 0.02*float64(i),
				Ground: render.Grounds[i%len(render.Grounds)], Kelvin: 1e6 / (1e6/3900 + float64(i)*(1e6/10500-1e6/3900)/9),
				Gradient: 0.05, Seed: int64(70 + i)}
			s.EV = min(-1.2+0.15*float64(i), s.HighestEV()-0.1)
			scenes = append(scenes, s)
		}
		var v []cie.Lab
		for _, d := range measureAll(t, scenes) {
			if d.err != nil {
				t.Error(d.err)
				continue
			}
			v = append(v, d.reading.Lab.Lab())
		}
		s := scatter(v)
		t.Logf("petals %.0f: standard deviation %.2f over %d photos", petal, s, len(v))
		if !(s <= 0.7) {
			t.Errorf("petals %.0f: standard deviation %.2f over %d photos, want at most 0.7", petal, s, len(v))
		}
	}
}
