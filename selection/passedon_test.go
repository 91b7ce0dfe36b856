package selection

import (
	"fmt"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// A plant on target of a family far from it, X, and one beside the target of a family
// around it, Y, with five sibs each: what passes on is half the family's.
func twoFamilies(t testing.TB) (*Values, []Observation) {
	t.Helper()
	var plants []genetics.Parents
	var records []Record
	var obs []Observation
	add := func(id, family string, dl float64) {
		plants = append(plants, genetics.Parents{ID: id, Seed: "seed " + family, Pollen: "pollen " + family})
		c := cie.Lab{L: buff.Lab.L + dl, A: buff.Lab.A, B: buff.Lab.B}
		records = append(records, Record{Plant: id, Season: "2026", Lab: c})
		obs = append(obs, Observation{Plant: id, Photo: id + ".jpg", Lab: c, SE: [3]float64{0.2, 0.2, 0.2}})
	}
	add("X", "far", 0.5)
	add("Y", "near", 4)
	for i := range 5 {
		add(fmt.Sprintf("X-%d", i+1), "far", 15+float64(i))
		add(fmt.Sprintf("Y-%d", i+1), "near", float64(i)-2)
	}
	h2 := space.Diag(space.Even(10))
	v, err := Predict(plants, records, &ValueOptions{Components: &genetics.Components{Additive: flat(h2), Residual: flat(h2)}})
	if err != nil {
		t.Fatal(err)
	}
	return v, obs
}

// Plants stand in the order of what they pass on, not of what they look like.
func TestRankByOffspring(t *testing.T) {
	t.Parallel()
	v, obs := twoFamilies(t)
	r := mustRank(t, obs, &Options{Values: v, Keep: 6}).JSON("", "")
	place := map[string]PlantJSON{}
	for i, p := range r.Plants {
		place[p.Plant] = p
		if i > 0 && *p.ValueDeltaE < *r.Plants[i-1].ValueDeltaE {
			t.Errorf("place %d: %s, whose offspring are predicted %.2f away, comes after one of %.2f", p.Rank, p.Plant, *p.ValueDeltaE,
				*r.Plants[i-1].ValueDeltaE)
		}
	}
	x, y := place["X"], place["Y"]
	if x.DeltaE > 1 || x.Rank != 7 || x.Advice == Keep || y.Advice != Keep {
		t.Errorf("X, %.1f away itself, is place %d: %s; Y is %s; want X behind the six of the near family", x.DeltaE, x.Rank, x.Advice, y.Advice)
	}
	if !strings.Contains(x.Why, "but its offspring are predicted farther") || !strings.Contains(x.Why, "family is much lighter") {
		t.Errorf("X: %q does not say that its family is lighter", x.Why)
	}
	if x.ChanceKept > 0.2 || y.ChanceKept < 0.8 {
		t.Errorf("chance to be kept of X %.2f and of Y %.2f, want little and much", x.ChanceKept, y.ChanceKept)
	}
	if r.RankedBy != "offspring" {
		t.Errorf("ranked by %q", r.RankedBy)
	}
}
