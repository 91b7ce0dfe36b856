package colorimg_test

import (
	"math"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render/scenes"
)

// TestPrecision: over the drawn sets, less each set's mean offset, the true value
// lies within twice the stated precision of the reading in 90 to 99 of 100
// photos. Photos to be looked at (flagged) are left out: their flag says that
// the error is not all there is.
//
// A stated precision must also be of use. It is scored by the logarithm of the
// density that it gives to the error found (a normal one in each of three
// coordinates): better than one and the same precision for all photos, even the
// one that fits them best.
func TestPrecision(t *testing.T) {
	var all, in, once int
	var errs, said []float64
	for _, set := range []struct {
		name  string
		drawn []drawn
		even  bool // the truth is the petals' colour, without the light's fall-off
	}{
		{"varied", variedSet(t), false},
		{"fall-off", fallSet(t), true},
		{"awkward", awkwardSet(t), false},
	} {
		truth := func(x drawn) cie.Lab {
			if set.even {
				return x.truth.Petal
			}
			return x.truth.Seen
		}
		var d []drawn
		for _, x := range set.drawn {
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
		within := 0
		var ratio []float64
		for _, x := range d {
			r := x.reading.Lab.Lab()
			e := cie.DeltaE2000(cie.Lab{L: r.L - off.L, A: r.A - off.A, B: r.B - off.B}, truth(x))
			k := e / x.reading.SE.Precision
			ratio, errs, said = append(ratio, k), append(errs, e), append(said, x.reading.SE.Precision)
			if k <= 2 {
				within++
			}
			if k <= 1 {
				once++
			}
			if k > 2.5 {
				t.Logf("%.1f times its precision of %.2f: %v", k, x.reading.SE.Precision, x)
			}
		}
		n := len(d)
		t.Logf("%s: %d photos, %d within twice their precision; error over precision: median %.2f, 95th percentile %.2f; mean offset %.2f",
			set.name, n, within, quantile(ratio, 0.5), quantile(ratio, 0.95), off)
		if n < len(set.drawn)/3 || !scenes.AtLeast(within, n, 0.90) {
			t.Errorf("%s: the truth lies within twice the precision in %d of %d photos, want 90 %% or more", set.name, within, n)
		}
		all, in = all+n, in+within
	}
	own, same := score(errs, said), score(errs, []float64{rms(errs) / math.Sqrt(3)})
	t.Logf("%d photos: %.1f %% within twice their precision, %.1f %% within once; score %.3f, of one precision for all %.3f", all,
		100*float64(in)/float64(all), 100*float64(once)/float64(all), own, same)
	if !scenes.AtLeast(in, all, 0.90) || !scenes.AtMost(in, all, 0.99) {
		t.Errorf("the truth lies within twice the precision in %d of all %d photos, want 90 to 99 %%", in, all)
	}
	if !(own > same) {
		t.Errorf("stated precisions score %.3f, the best single one for all %.3f; want more", own, same)
	}
}

// score is the mean logarithm of the density of errors in three coordinates, each
// normal with a share of the stated standard error; one stated error stands for all.
func score(errs, said []float64) float64 {
	sum := 0.0
	for i, e := range errs {
		s := said[i%len(said)] / math.Sqrt(3)
		if len(said) == 1 {
			s = said[0]
		}
		sum -= 3*math.Log(s) + e*e/(2*s*s)
	}
	return sum / float64(len(errs))
}

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}
