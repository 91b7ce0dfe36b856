package render_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// The awkward class must hold every trouble several times, in light that is no
// trouble itself.
func TestAwkwardScenesAreWhatTheyClaim(t *testing.T) {
	t.Parallel()
	n := scenes.Count(14, 56)
	seen := map[string]int{}
	for i := range n {
		s := scenes.Awkward(i, 1)
		if d := cmp.Diff(s, scenes.Awkward(i, 1)); d != "" {
			t.Fatalf("Awkward(%d) differs from itself:\n%s", i, d)
		}
		s.Width, s.Height = 240, 180
		_, truth := render.Draw(s)
		if !truth.Measurable || truth.Shaded > 0 || truth.Clipped > 0.1 {
			t.Errorf("Awkward(%d): Measurable %v (%s), shaded %.2f, clipped %.2f, want fair light", i, truth.Measurable, truth.Doubt,
				truth.Shaded, truth.Clipped)
		}
		checkCard(t, 240, 180, truth)
		for name, on := range map[string]bool{"bee": s.Bee, "dew": s.Dew > 0, "hand": s.Hand, "browned": truth.Browned > 0.01,
			"faded": truth.Faded > 0.05, "blooms": s.Blooms > 0, "two colours": s.Tip != nil || s.Eye != nil} {
			if on {
				seen[name]++
			}
		}
	}
	for _, name := range []string{"bee", "dew", "hand", "browned", "faded", "blooms", "two colours"} {
		if seen[name] < n/8 {
			t.Errorf("%d of %d scenes with %s, want at least %d", seen[name], n, name, n/8)
		}
	}
}
