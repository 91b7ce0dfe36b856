package colorimg_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
)

// TestMeasureSpectral measures photos computed from spectra, which share nothing
// with this program: neither light made by gains of linear sRGB nor shading set so
// that the petals' median is the truth. What can be reached there by one who knows
// mask and card is a median of about 2, see testdata/spectral/README.md.
//
// The errors found also bound the stated trueness from below: these are good
// cameras without a phone's tone curve, and a standard error must not be smaller
// than what even they leave.
//
// Of petals in two colours the answer is the main one: that is what a reading gives and what plants rank by, as README
// says, and the median of all petals may be a colour that no petal has. Against that median garden_0002, crimson
// and white, is 9.2 off, and the 95th percentile of the six garden photos that were made is 7.8; against the main colour
// it is 3.4. The test writes both.
//
// A known weakness: the strip of hard_0002 lies half in shade, and the reading
// carries no flag; with a tone curve of its own that is a strip as any other.
func TestMeasureSpectral(t *testing.T) {
	t.Parallel()
	const dir = "testdata/spectral"
	b := must.Have(os.ReadFile(filepath.Join(dir, "truth.json")))(t)
	var truth struct {
		Photos []struct {
			File       string
			Want       colorimg.Triple `json:"petal_lab_median"`
			Colours    []colorimg.Share
			Measurable bool
		}
	}
	must.OK(t, json.Unmarshal(b, &truth))
	var jobs []colorimg.Job
	for _, p := range truth.Photos {
		jobs = append(jobs, colorimg.Job{File: filepath.Join(dir, p.File)})
	}
	var off, whole, hue, trueness []float64 // whole: from the median of all petals
	unflagged := 0
	err := colorimg.Batch(t.Context(), jobs, nil, func(res colorimg.Result) error {
		p, r := truth.Photos[res.Index], res.Reading
		if !p.Measurable {
			if sound(r) {
				unflagged++
				t.Logf("%s cannot be measured, and reads %.1f without a flag", p.File, *r.Lab)
			}
			return nil
		}
		if r.Lab == nil {
			t.Errorf("%s: refused: %s", p.File, r.Reason)
			return nil
		}
		want := p.Want.Lab()
		if len(p.Colours) > 1 { // the reading's colour is that of the larger part
			want = p.Colours[0].Lab.Lab()
			if len(r.Colors) != len(p.Colours) || math.Abs(r.Colors[0].Share-p.Colours[0].Share) > 0.1 {
				t.Errorf("%s: colours %.2f, want %.2f, shares within 0.1", p.File, r.Colors, p.Colours)
			}
		}
		got := r.Lab.Lab()
		d := cie.DeltaE2000(got, want)
		if d > 2*r.SE.Trueness {
			t.Errorf("%s: off by %.1f, want at most twice its trueness of %.1f", p.File, d, r.SE.Trueness)
		}
		level := got
		level.L = want.L
		off, whole = append(off, d), append(whole, cie.DeltaE2000(got, p.Want.Lab()))
		hue, trueness = append(hue, cie.DeltaE2000(level, want)), append(trueness, r.SE.Trueness)
		t.Logf("%s: off by %.1f, %.1f without lightness, %.1f from the median of all petals; %.1f, want %.1f; flags %v", p.File, d,
			hue[len(hue)-1], whole[len(whole)-1], got, want, r.Flags)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	n := len(off)
	e, said := rms(off), rms(trueness)
	m, worst, h := quantile(off, 0.5), quantile(off, 1), quantile(hue, 0.5)
	t.Logf("%d photos: Delta E 2000 median %.2f, worst %.2f, root mean square %.2f; median without lightness %.2f; trueness stated %.2f;"+
		" from the median of all petals: median %.2f, worst %.2f", n, m, worst, e, h, said, quantile(whole, 0.5), quantile(whole, 1))
	if n != 8 || !(m <= 3) || !(worst < 5) {
		t.Errorf("%d photos measured: Delta E 2000 median %.2f, worst %.2f; want 8, at most 3, and less than 5", n, m, worst)
	}
	if !(h <= 2) {
		t.Errorf("median Delta E 2000 without lightness %.2f, want at most 2", h)
	}
	if !(said >= e) {
		t.Errorf("trueness is stated as %.2f, the errors found are %.2f in the root mean square", said, e)
	}
	if unflagged > 1 {
		t.Errorf("%d photos that nobody could measure read without a flag, want 1 at most", unflagged)
	}
}
