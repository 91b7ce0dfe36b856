package colorimg_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
)

// Strokes take petals in and out: the drawn photo says which pixels truly are petal,
// and what colour. Source: our own drawing, whose answers are known.
func TestStrokes(t *testing.T) {
	scene := render.Scene{Width: 900, Height: 700, Petal: cie.Lab{L: 74, A: 20, B: 50}, Form: render.Single, Petals: 9,
		Center: cie.Lab{L: 34, A: 14, B: 20}, Ground: render.Board, Diameter: 0.5, At: [2]float64{0.6, 0.5},
		Card: render.CardSpec{Width: 0.13}, Seed: 7}
	var pic bytes.Buffer
	truth := must.Have(scene.JPEG(&pic, 92))(t)
	file := filepath.Join(t.TempDir(), "M-1.jpg")
	must.OK(t, os.WriteFile(file, pic.Bytes(), 0o666))
	measured := func(opt *colorimg.Options) *colorimg.Reading {
		t.Helper()
		r := must.Have(colorimg.Measure(t.Context(), file, opt))(t)
		return r
	}
	plain := measured(nil)
	at := *plain.Petal.Bloom
	far := float64(plain.Size[0])
	all := plain.Petal.Pixels

	// Everything right of the middle painted out: about half is left, of the same colour.
	half := &colorimg.Correction{Strokes: []colorimg.Stroke{{Radius: far / 4,
		Points: []colorimg.Point{{at[0] + far/4, 0}, {at[0] + far/4, far}}}}}
	r := measured(half.Options(nil))
	if share := float64(r.Petal.Pixels) / float64(all); share < 0.4 || share > 0.6 {
		t.Errorf("half painted out leaves %.2f of the petals", share)
	}
	if d := cie.DeltaE2000(r.Lab.Lab(), truth.Seen); d > 1.5 {
		t.Errorf("half of the petals read %.2f Delta E from the colour drawn", d)
	}
	if r.Correction == nil || len(r.Correction.Strokes) != 1 {
		t.Errorf("the reading keeps the correction as %+v", r.Correction)
	}

	// The same painted in again: the petals are back, with the ground between them.
	back := &colorimg.Correction{Strokes: append(half.Strokes,
		colorimg.Stroke{In: true, Radius: 40, Points: []colorimg.Point{{at[0] + 60, at[1]}}})}
	if b := measured(back.Options(nil)); b.Petal.Pixels <= r.Petal.Pixels {
		t.Errorf("painting in left %d petal pixels of %d", b.Petal.Pixels, r.Petal.Pixels)
	}

	for name, s := range map[string]colorimg.Stroke{
		"no size":         {Points: []colorimg.Point{{1, 1}}},
		"no points":       {Radius: 3},
		"not a number":    {Radius: 3, Points: []colorimg.Point{{math.NaN(), 1}}},
		"far out":         {Radius: 3, Points: []colorimg.Point{{1e9, 1}}},
		"larger than all": {Radius: 1e9, Points: []colorimg.Point{{1, 1}}},
	} {
		c := &colorimg.Correction{Strokes: []colorimg.Stroke{s}}
		if r, err := colorimg.Measure(t.Context(), file, c.Options(nil)); err == nil || r.Status != colorimg.Refused {
			t.Errorf("%s: measured as %s, want refused", name, r.Status)
		}
	}
}
