package render_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// The hundred scenes that the measuring is tested on: what its results mean
// depends on each being a fair photo.
func TestVariedScenesAreFair(t *testing.T) {
	forms, grounds, shades := map[render.Form]int{}, map[render.Ground]int{}, map[int]bool{}
	t.Parallel()
	n := scenes.Count(20, 100)
	for i := range n {
		s := scenes.Varied(i, 1)
		if d := cmp.Diff(s, scenes.Varied(i, 1)); d != "" {
			t.Fatalf("Varied(%d) differs from itself:\n%s", i, d)
		}
		if s.Ground.Plain() != (i%2 == 0) {
			t.Errorf("Varied(%d) lies on %v, want a plain board at even numbers alone", i, s.Ground)
		}
		if s.Kelvin < 4000 || s.Kelvin > 10000 || s.EV < -1.5 || s.EV > 0.3 {
			t.Errorf("Varied(%d): %.0f K, EV %.2f, want 4000 to 10000 and -1.5 to 0.3", i, s.Kelvin, s.EV)
		}
		asked := s.Card.Width
		s.Width, s.Height = 480, 360
		_, truth := render.Draw(s)
		checkCard(t, 480, 360, truth)
		for k, v := range [2]float64{480, 360} {
			if c := truth.Bloom[k]; c-truth.Radius < 0 || c+truth.Radius > v {
				t.Errorf("Varied(%d): bloom at %.0f with radius %.0f leaves the frame", i, truth.Bloom, truth.Radius)
			}
		}
		if w := cardWidth(truth) / 480; w < 0.045 || w > 0.205 {
			t.Errorf("Varied(%d): card %.3f of the width (asked %.3f), want 0.05 to 0.20", i, w, asked)
		}
		if truth.Clipped > 0.03 {
			t.Errorf("Varied(%d): %.3f of the petals clipped, want at most 0.03", i, truth.Clipped)
		}
		if d := cie.DeltaE2000(truth.Seen, truth.Petal); d > 1.5 {
			t.Errorf("Varied(%d): Seen %.1f from Petal, want at most 1.5", i, d)
		}
		forms[s.Form]++
		grounds[s.Ground]++
		shades[i%len(render.Shades)] = true
	}
	if len(forms) != len(render.Forms) || len(grounds) != len(render.Grounds) || len(shades) != len(render.Shades) {
		t.Errorf("%d scenes have %d forms, %d grounds, %d shades, want all of them", n, len(forms), len(grounds), len(shades))
	}
}

// cardWidth is the card's longest side.
func cardWidth(t render.Truth) float64 {
	w := 0.0
	for i, p := range t.Edge {
		w = max(w, hypot(p, t.Edge[(i+1)%4]))
	}
	return w
}

// A file can hold the shades: linear sRGB within 0.004 to 1.
func TestShadesFitAFile(t *testing.T) {
	for _, sh := range render.Shades {
		c := cie.SRGB.RGB(sh.Lab.XYZ())
		if min(c[0], c[1], c[2]) < 0.004 || max(c[0], c[1], c[2]) > 1 {
			t.Errorf("%s: linear sRGB %.3f, want within 0.004 to 1", sh.Name, c)
		}
	}
}
