package genetics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Axes add up to the components, whichever way these lie; of components without covariances they are the
// traits, with the heritabilities and errors of those; and where a variance cannot be told from
// none, it is taken to be more than the likeliest, by the mean of a half normal: its
// standard deviation times √(2/π).
func TestAxes(t *testing.T) {
	t.Parallel()
	errors := mat.NewSymDense(6, nil)
	for i := range 6 {
		errors.SetSym(i, i, 0.04*float64(i+1))
	}
	plain := &Fit{traits: 2, Error: errors, Components: Components{Additive: []float64{2, 0, 0, 1}, Residual: []float64{2, 0, 0, 4}}}
	axes := plain.Axes()
	if len(axes) != 2 {
		t.Fatalf("%d axes of two traits", len(axes))
	}
	for _, a := range axes {
		trait := 0
		if a.Heritability < 0.4 {
			trait = 1
		}
		h2, se := plain.Heritability(trait)
		near(t, "heritability", a.Heritability, h2, 1e-12)
		near(t, "its error", a.SE, se, 1e-12)
		near(t, "size of the axis", math.Abs(a.Traits[trait]), math.Sqrt(plain.Additive[3*trait]+plain.Residual[3*trait]), 1e-12)
	}
	slanted := &Fit{traits: 2, Error: errors, Components: Components{Additive: []float64{2, 1.2, 1.2, 1}, Residual: []float64{3, -1, -1, 4},
		Plant: []float64{1, 0, 0, 0.5}}}
	var additive, rest [4]float64
	for _, a := range slanted.Axes() {
		for i := range 2 {
			for j := range 2 {
				additive[2*i+j] += a.Heritability * a.Traits[i] * a.Traits[j]
				rest[2*i+j] += (1 - a.Heritability) * a.Traits[i] * a.Traits[j]
			}
		}
	}
	for k := range additive {
		near(t, "additive covariance", additive[k], slanted.Additive[k], 1e-12)
		near(t, "the rest", rest[k], slanted.Residual[k]+slanted.Plant[k], 1e-12)
	}
	none := &Fit{traits: 1, Error: mat.NewSymDense(2, []float64{0.09, 0, 0, 0.09}),
		Components: Components{Additive: []float64{0}, Residual: []float64{1}}}
	near(t, "variance at the edge", none.Axes()[0].Variance, 0.3*math.Sqrt(2/math.Pi), 1e-9)
	if a := (&Fit{traits: 1, Components: none.Components}).Axes(); a != nil {
		t.Errorf("axes %v without an error", a)
	}
}
