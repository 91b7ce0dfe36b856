package render_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// The hard class must hold what the measuring's promises name: all forms,
// grounds and colours, 3800 to 11000 K, fall-off, tone curves, and shadows of
// which some can be measured and some cannot.
func TestHardScenesAreWhatTheyClaim(t *testing.T) {
	t.Parallel()
	forms, grounds, doubts := map[render.Form]int{}, map[render.Ground]int{}, map[string]int{}
	var low, high float64 = 1e9, 0
	shaded := 0
	for i := range 126 {
		s := scenes.Hard(i, 1)
		if d := cmp.Diff(s, scenes.Hard(i, 1)); d != "" {
			t.Fatalf("Hard(%d) differs from itself:\n%s", i, d)
		}
		if s.Gradient+s.Vignette != 0.2 || s.Phone == nil || s.Phone.Contrast < 0.05 || s.Phone.Contrast > 0.20 {
			t.Errorf("Hard(%d): gradient %.2f, vignette %.2f, phone %v, want a fall-off of 0.2 and a tone curve", i, s.Gradient,
				s.Vignette, s.Phone)
		}
		low, high = min(low, s.Kelvin), max(high, s.Kelvin)
		s.Width, s.Height = 200, 150
		_, truth := render.Draw(s)
		checkCard(t, 200, 150, truth)
		if truth.Pixels < 200 {
			t.Errorf("Hard(%d): %d petal pixels of 200 × 150, want at least 200", i, truth.Pixels)
		}
		forms[s.Form]++
		grounds[s.Ground]++
		doubts[truth.Doubt]++
		if s.Edge != nil || s.Shadow > 0 {
			shaded++
		}
		if (truth.Doubt == "") != truth.Measurable {
			t.Errorf("Hard(%d): Measurable %v with the doubt %q", i, truth.Measurable, truth.Doubt)
		}
	}
	if low < 3800 || low > 4100 || high > 11000 || high < 10000 {
		t.Errorf("lights from %.0f to %.0f K, want 3800 to 11000 and most of that range", low, high)
	}
	if len(forms) != len(render.AllForms) || len(grounds) != len(render.Grounds) {
		t.Errorf("126 scenes have %d forms and %d grounds, want %d and %d", len(forms), len(grounds), len(render.AllForms),
			len(render.Grounds))
	}
	if shaded < 95 || doubts[""] < 55 {
		t.Errorf("%d of 126 have a shadow and %d can be measured, want at least 95 and 55", shaded, doubts[""])
	}
	for _, d := range []string{"a shadow's edge on the card", "bloom half shaded", "card and bloom in different light",
		"petals clipped"} {
		if doubts[d] < 3 {
			t.Errorf("%d of 126 photos with %q, want at least 3; all: %v", doubts[d], d, doubts)
		}
	}
	t.Logf("doubts: %v", doubts)
}

// lit is a scene whose shadow alone differs between cases.
func lit(e render.EdgeShadow) render.Scene {
	e.Depth = 0.5
	return render.Scene{Width: 400, Height: 300, Noise: -1, Blur: -1, EV: -1, At: [2]float64{0.35, 0.5},
		Card: render.CardSpec{At: &[2]float64{0.8, 0.5}}, Edge: &e}
}

// Whether a photo can be measured, by the rule at Truth.Measurable: the card
// lies at 0.74 to 0.86 of the width, the bloom at 0.16 to 0.54.
func TestMeasurableFollowsItsRule(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name   string
		x      float64 // of the edge; the shadow lies to its right, or left when negative
		doubt  string
		shaded [2]float64 // of the petals, lowest and highest
		card   float64
	}{
		{"right of both", 0.95, "", [2]float64{0, 0}, 0},
		{"over both", 0.05, "", [2]float64{1, 1}, 1},
		{"on the card's middle", 0.8, "a shadow's edge on the card", [2]float64{0, 0}, 0.5},
		{"on the bloom's middle", 0.35, "bloom half shaded", [2]float64{0.4, 0.6}, 1},
		{"over the card alone", 0.65, "card and bloom in different light", [2]float64{0, 0}, 1},
		{"over the bloom alone", -0.65, "card and bloom in different light", [2]float64{1, 1}, 0},
		{"over the bloom's left rim", -0.22, "", [2]float64{0.03, 0.19}, 0},
	} {
		e := render.EdgeShadow{At: [2]float64{math.Abs(tt.x), 0.5}}
		if tt.x < 0 {
			e.Angle = 180
		}
		_, truth := render.Draw(lit(e))
		if truth.Doubt != tt.doubt || truth.Measurable != (tt.doubt == "") {
			t.Errorf("%s: Measurable %v, Doubt %q, want %q", tt.name, truth.Measurable, truth.Doubt, tt.doubt)
		}
		if truth.Shaded < tt.shaded[0] || truth.Shaded > tt.shaded[1] || math.Abs(truth.CardShaded-tt.card) > 0.05 {
			t.Errorf("%s: Shaded %.2f, CardShaded %.2f, want %.2f to %.2f, and %.2f", tt.name, truth.Shaded, truth.CardShaded,
				tt.shaded[0], tt.shaded[1], tt.card)
		}
	}
	bright := lit(render.EdgeShadow{At: [2]float64{0.05, 0.5}})
	bright.EV = 3
	if _, truth := render.Draw(bright); truth.Doubt != "petals clipped" {
		t.Errorf("three stops over: Doubt %q, want petals clipped", truth.Doubt)
	}
	bright.Card.None = true
	if _, truth := render.Draw(bright); truth.Doubt != "no card" {
		t.Errorf("without a card: Doubt %q, want no card", truth.Doubt)
	}
}

// Reads the two sides of an edge off a grey board with the sRGB formula (IEC
// 61966-2-1): the share of light lost, the colour of what is left, and the
// width of the penumbra.
func TestEdgeShadowIsAsAsked(t *testing.T) {
	s := render.Scene{Width: 800, Height: 600, Noise: -1, Blur: -1, NoBloom: true, EV: -0.5, Ground: render.GrayBoard,
		Card:   render.CardSpec{None: true},
		Kelvin: 5500, Edge: &render.EdgeShadow{Depth: 0.6, At: [2]float64{0.5, 0.5}, Soft: 0.2, Kelvin: 9000}}
	im, _ := render.Draw(s)
	mean := func(x int) cie.RGB {
		x0, y0 := float64(x-6), 20.0
		return readQuad(im, [4][2]float64{{x0, y0}, {x0 + 12, y0}, {x0 + 12, 580}, {x0, 580}})
	}
	open, dark := mean(120), mean(680)
	if k := dark[1] / open[1]; math.Abs(k-0.4) > 0.015 {
		t.Errorf("green in the shadow over green in the open = %.3f, want 0.4 ± 0.015", k)
	}
	a, b := render.Gains(5500, 1), render.Gains(9000, 1)
	if got, want := dark[2]/dark[1]/(open[2]/open[1]), b[2]/a[2]; math.Abs(got-want) > 0.02 {
		t.Errorf("blue over green grows by %.3f into the shadow, want %.3f ± 0.02", got, want)
	}
	if k := mean(400)[1] / open[1]; math.Abs(k-0.7) > 0.03 {
		t.Errorf("light on the edge itself = %.3f of the open, want the middle, 0.7 ± 0.03", k)
	}
	for _, x := range []int{330, 470} { // 60 pixels to either side end the penumbra of 120
		want := map[bool]float64{true: 1, false: 0.4}[x < 400]
		if k := mean(x)[1] / open[1]; math.Abs(k-want) > 0.03 {
			t.Errorf("light at %d = %.3f of the open, want %.1f ± 0.03", x, k, want)
		}
	}
}
