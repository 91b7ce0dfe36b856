package genetics

import (
	"fmt"
	"math"
	"testing"
)

// The ± of a heritability: that of an intraclass correlation t of k families of n is
//
//	√(2 (1-t)² (1+(n-1)t)² / (n (n-1) (k-1)))
//
// (Fisher 1925; Falconer and Mackay 1996, chapter 10, from memory). With unrelated plants
// of n records each, the share that stays with a plant is such a correlation.
func TestHeritabilityError(t *testing.T) {
	t.Parallel()
	ped, rec := oneWay(t, dyestuff)
	f, err := FitComponents(ped, rec, nil)
	if err != nil {
		t.Fatal(err)
	}
	h2, se := f.Heritability(0)
	const k, n = 6, 5
	r := 1764.05 / (1764.05 + 2451.25)
	near(t, "heritability", h2, r, 1e-5)
	near(t, "its standard error", se, math.Sqrt(2*(1-r)*(1-r)*(1+(n-1)*r)*(1+(n-1)*r)/(n*(n-1)*(k-1))),
		0.01) // of the average information, not the expected
}

// How sure a value is, of plants that were selfed three times: each line of the n varies by
// (1+F) times the additive variance, F = 7/8, and with one record a line and the mean
// estimated its reliability is (1 - 1/n) (1+F)G / ((1+F)G + R).
func TestReliabilityOfInbreds(t *testing.T) {
	t.Parallel()
	const n, g, r = 40, 4.0, 4.0
	var plants []Parents
	for i := range n {
		for s := range 4 {
			p := Parents{ID: fmt.Sprintf("%d-%d", i, s)}
			if s > 0 {
				p.Seed = fmt.Sprintf("%d-%d", i, s-1)
				p.Pollen = p.Seed
			}
			plants = append(plants, p)
		}
	}
	ped := mustPedigree(t, plants)
	rec := &Records{Traits: 1, Effects: []Effect{{Level: make([]int32, n), Levels: 1}}}
	for i := range n {
		rec.Plant, rec.Y = append(rec.Plant, ped.at(t, fmt.Sprintf("%d-3", i))), append(rec.Y, float64(i%7))
	}
	v, err := Evaluate(ped, rec, &Components{Additive: []float64{g}, Residual: []float64{r}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	line := 1.875 * g
	want := (1 - 1.0/n) * line / (line + r)
	near(t, "reliability of a line selfed three times", v.Reliability(ped.at(t, "7-3"), 0), want, 1e-6)
	// Its founder passed all of its value on average, and none of what the selfs drew: the
	// covariance is G of each.
	near(t, "reliability of its founder", v.Reliability(ped.at(t, "7-0"), 0), (1-1.0/n)*g/(line+r), 1e-6)
}

// Where families are joined by one way only the rough errors are the exact ones, of selfs and selfs of selfs too.
func TestRoughErrorsOfSelfs(t *testing.T) {
	t.Parallel()
	plants := []Parents{{ID: "0"}, {ID: "mate"}, {ID: "S1", Seed: "0", Pollen: "0"}, {ID: "S2", Seed: "S1", Pollen: "S1"},
		{ID: "F1", Seed: "0", Pollen: "mate"}}
	ped := mustPedigree(t, plants)
	rec := &Records{Traits: 1, Plant: []int32{ped.at(t, "0")}, Y: []float64{3},
		Effects: []Effect{{Levels: 1, Level: []int32{-1}, Var: []float64{1}}}}
	v, err := Evaluate(ped, rec, &Components{Additive: []float64{10}, Residual: []float64{5}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	rough := v.e.roughErrors()
	for _, p := range plants {
		at := ped.at(t, p.ID)
		near(t, "error variance of "+p.ID, rough[at], v.ErrorVar[at], 0.02)
	}
}
