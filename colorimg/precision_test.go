package colorimg_test

import (
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// TestPrecision: over the drawn sets, less each set's mean offset, the true value
// lies within twice the stated precision of the reading in 90 to 99 of 100
// photos. Photos to be looked at (flagged) are left out: their flag says that
// the error is not all there is.
func TestPrecision(t *testing.T) {
	var all, in float64
	for _, set := range []struct {
		name  string
		n     int
		scene func(i int) render.Scene
		even  bool // the truth is the petals' colour, without the light's fall-off
	}{
		{"varied", 48, func(i int) render.Scene { return render.Varied(i, 3) }, false},
		{"fall-off", 48, func(i int) render.Scene {
			s := render.Varied(i, 4)
			s.Gradient, s.EV = 0.15, s.EV-0.2
			return s
		}, true},
		{"awkward", 48, func(i int) render.Scene { return render.Awkward(i, 3) }, false},
	} {
		t.Run(set.name, func(t *testing.T) {
			truth := func(x drawn) cie.Lab {
				if set.even {
					return x.truth.Petal
				}
				return x.truth.Seen
			}
			var d []drawn
			for _, x := range drawnSet(t, set.n, set.scene) {
				two := x.scene.Tip != nil || x.scene.Eye != nil // Truth.Seen is the median over both colours
				if x.err == nil && !x.flagged() && !two {
					d = append(d, x)
				}
			}
			var off cie.Lab
			for _, x := range d {
				r, w := x.reading.Lab.Lab(), truth(x)
				off.L += (r.L - w.L) / float64(len(d))
				off.A += (r.A - w.A) / float64(len(d))
				off.B += (r.B - w.B) / float64(len(d))
			}
			within, one := 0.0, 0.0
			var ratio []float64
			for _, x := range d {
				r := x.reading.Lab.Lab()
				e := cie.DeltaE2000(cie.Lab{L: r.L - off.L, A: r.A - off.A, B: r.B - off.B}, truth(x))
				k := e / x.reading.SE.Precision
				ratio = append(ratio, k)
				if k <= 2 {
					within++
				}
				if k <= 1 {
					one++
				}
				if k > 2.5 {
					t.Logf("%.1f times its precision of %.2f: %v", k, x.reading.SE.Precision, x)
				}
			}
			n := float64(len(d))
			share := within / n
			t.Logf("%s: %d photos, %.1f %% within twice their precision, %.1f %% within once; error over precision: median %.2f, 95th percentile %.2f; mean offset %.2f", set.name, len(d), 100*share, 100*one/n, quantile(ratio, 0.5), quantile(ratio, 0.95), off)
			if share < 0.90 {
				t.Errorf("%s: the truth lies within twice the precision in %.1f %% of photos, want 90 or more", set.name, 100*share)
			}
			all, in = all+n, in+within
		})
	}
	t.Logf("%.0f photos, %.1f %% within twice their precision", all, 100*in/all)
	if share := in / all; !(share >= 0.90 && share <= 0.99) {
		t.Errorf("the truth lies within twice the precision in %.1f %% of all photos, want 90 to 99", 100*share)
	}
}
