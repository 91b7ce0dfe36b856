package selection

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
)

// The best pair and the crosses chosen of many candidates are those that a look at every
// pair in full finds.
func TestShortlistKeepsBest(t *testing.T) {
	rnd := rand.New(rand.NewPCG(71, 71))
	var plants []genetics.Parents
	var records []Record
	var ids []string
	for i := range 260 {
		id := fmt.Sprintf("p%03d", i)
		plants = append(plants, genetics.Parents{ID: id, Seed: fmt.Sprint("s", i%20), Pollen: fmt.Sprint("t", i%17)})
		family := 4 * float64(i%20-10) / 10
		lab := cie.Lab{L: 66 + family + 3*rnd.NormFloat64(), A: 20 - family + 3*rnd.NormFloat64(), B: 35 + 4*rnd.NormFloat64()}
		records = append(records, Record{Plant: id, Season: "2025", Lab: lab})
		ids = append(ids, id)
	}
	v, err := Predict(plants, records, &ValueOptions{AddsUp: true})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Pairs(v, buff, &PairOptions{Candidates: ids})
	if err != nil {
		t.Fatal(err)
	}
	f := &pairing{v: v, target: buff, opt: &PairOptions{}}
	if f.candidates, err = v.candidates(ids); err != nil {
		t.Fatal(err)
	}
	var at []int32
	for _, c := range f.candidates {
		at = append(at, c.at)
	}
	f.coancestry, f.errors, f.additive = v.Ped.Coancestries(at, at), v.eval.ErrorCov(at), unflat(v.Components.Additive)
	f.segregate()
	all := f.fully(f.rate()[:len(r.Pairs)])
	bySorts(all)
	for k, p := range r.Pairs {
		x, y := f.candidates[all[k].places[0]].id, f.candidates[all[k].places[1]].id
		if p.SeedParent != x || p.PollenParent != y {
			t.Errorf("pair %d is %s × %s, by a full look %s × %s", k+1, p.SeedParent, p.PollenParent, x, y)
		}
	}
}
