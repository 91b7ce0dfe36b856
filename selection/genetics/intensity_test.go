package genetics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestIntensity(t *testing.T) {
	t.Parallel()
	// Falconer and Mackay 1996, appendix table A: a large population (from memory,
	// recomputed).
	for percent, want := range map[int]float64{1: 2.665, 5: 2.063, 10: 1.755, 20: 1.400, 50: 0.798} {
		near(t, fmt.Sprintf("best %d %%", percent), Intensity(percent*10_000, 1_000_000), want, 6e-4)
	}
	// Harter 1961, Biometrika 48:151: expected largest of n (from memory). Burrows'
	// correction is an approximation, least good for a single one kept.
	for n, want := range map[int]float64{5: 1.163, 10: 1.539, 20: 1.867, 50: 2.249, 100: 2.508} {
		near(t, fmt.Sprintf("best of %d", n), Intensity(1, n), want, 0.035)
	}
	rnd := rand.New(rand.NewPCG(24, 24))
	for _, c := range [][2]int{{6, 60}, {4, 30}, {3, 12}} {
		sum := 0.0
		const runs = 20_000
		for range runs {
			z := normals(rnd, c[1])
			slices.Sort(z)
			for _, v := range z[c[1]-c[0]:] {
				sum += v / float64(c[0]) / runs
			}
		}
		near(t, fmt.Sprint(c), Intensity(c[0], c[1]), sum, 0.01)
	}
	if Intensity(5, 5) != 0 || !math.IsNaN(Intensity(0, 5)) || !math.IsNaN(Intensity(6, 5)) {
		t.Error("all kept is no selection; none, or more than there are, is no number")
	}
}

// Errors of a pedigree too large to invert are those of the inverse within a twentieth, for hardly any plant beyond a tenth.
func TestRoughErrors(t *testing.T) {
	t.Parallel()
	ped, rec, par := programme(t, 6000) // each season of 18 parents; fewer are always inverted
	exact, err := Evaluate(ped, rec, par, nil)
	if err != nil {
		t.Fatal(err)
	}
	rough := exact.e.roughErrors()
	sum, far, n := 0.0, 0, 0
	for i := ped.groups; i < ped.Len(); i++ {
		for k := range 3 {
			r := rough[i*9+4*k] / exact.ErrorVar[i*9+4*k]
			sum += r
			n++
			if !(r > 0.9 && r < 1.1) {
				far++
			}
		}
	}
	if mean := sum / float64(n); !(mean > 0.95 && mean < 1.05) {
		t.Errorf("rough error variances are %.3f of the exact ones on average", mean)
	}
	if far > n/50 {
		t.Errorf("%d of %d are more than a tenth off", far, n)
	}
	t.Logf("%.3f of the exact ones on average, %d of %d more than a tenth off", sum/float64(n), far, n)
}
