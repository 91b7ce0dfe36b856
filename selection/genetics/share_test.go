package genetics

import (
	"math"
	"testing"
)

// What the rest holds too much is shared as variances are: of one trait as the heritability says, of several so that their sum stays,
// and along each axis as that axis's heritability says.
func TestShare(t *testing.T) {
	t.Parallel()
	one := Components{Additive: []float64{3}, Residual: []float64{7}}.Share([]float64{2})
	if math.Abs(one.Additive[0]-3.6) > 1e-12 || math.Abs(one.Residual[0]-6.4) > 1e-12 {
		t.Errorf("of 2 in 3 + 7 are %v", one)
	}
	// What stays with a plant holds it, where there is such.
	two := Components{Additive: []float64{4, 0, 0, 1}, Plant: []float64{2, 0, 0, 4}, Residual: []float64{4, 0, 0, 5}}
	got := two.Share([]float64{1, 0, 0, 2})
	for i, want := range []float64{4.4, 0, 0, 1.2} {
		if math.Abs(got.Additive[i]-want) > 1e-12 || math.Abs(got.Additive[i]+got.Plant[i]-two.Additive[i]-two.Plant[i]) > 1e-12 ||
			got.Residual[i] != two.Residual[i] {
			t.Errorf("element %d: %v of %v", i, got, two)
		}
	}
	if two.Additive[0] != 4 || two.Plant[0] != 2 {
		t.Errorf("what was given has changed: %v", two)
	}
	// More than the rest holds cannot be shared.
	over := Components{Additive: []float64{3}, Residual: []float64{1}}.Share([]float64{2})
	if over.Additive[0] != 3 || over.Residual[0] != 1 {
		t.Errorf("of 2 in a rest of 1: %v", over)
	}
}
