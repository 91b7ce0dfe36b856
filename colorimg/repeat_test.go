package colorimg_test

import (
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// TestRepeatability: one plant in several lights, exposures and arrangements reads
// with a standard deviation (root mean square Delta E 2000 from the mean) of at
// most 0.7, and not above what the readings themselves state as their precision
// (times 1.5, for a few photos). Three plants: orange, buff apricot and cream. A
// nearly white one (L* 90) reads with 0.8: a JPEG rounds an even card the same way
// everywhere, which tints pale petals most.
func TestRepeatability(t *testing.T) {
	t.Parallel()
	n := scenes.Count(3, 10)
	for _, petal := range []cie.Lab{{L: 66, A: 37, B: 60}, {L: 76, A: 18, B: 42}, {L: 82, A: 6, B: 30}} {
		var list []render.Scene
		for k := range n {
			i := float64(k) * 9 / float64(n-1)
			s := render.Scene{Width: scenes.Count(600, 1000), Height: scenes.Count(450, 750), Petal: petal, Form: render.SemiDouble,
				Diameter: 0.4 + 0.02*i, Ground: render.Grounds[k%len(render.Grounds)],
				Kelvin:   1e6 / (1e6/3900 + i*(1e6/10500-1e6/3900)/9),
				Gradient: 0.05, Seed: int64(70 + k)}
			s.EV = min(-1.2+0.15*i, s.HighestEV()-0.1)
			list = append(list, s)
		}
		var v []cie.Lab
		var said []float64
		for _, d := range measureAll(t, list) {
			if d.err != nil {
				t.Error(d.err)
				continue
			}
			v, said = append(v, d.reading.Lab.Lab()), append(said, d.reading.SE.Precision)
		}
		s := scatter(v)
		t.Logf("petals %.0f: standard deviation %.2f over %d photos, precision stated %.2f", petal, s, len(v), rms(said))
		if !(s <= 0.7) {
			t.Errorf("petals %.0f: standard deviation %.2f over %d photos, want at most 0.7", petal, s, len(v))
		}
		if !(s <= 1.5*rms(said)) {
			t.Errorf("petals %.0f: standard deviation %.2f over %d photos, whose precision is stated as %.2f", petal, s, len(v),
				rms(said))
		}
	}
}
