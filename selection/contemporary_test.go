package selection

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
)

// A line whose plants are left to the bees in every season: values stay among the plants'
// colours, and the pollen counts as of the group that flowered.
func TestPredictOpenPollinated(t *testing.T) {
	t.Parallel()
	for name, groups := range map[string][2]string{"one group": {"Old", "old"}, "two groups": {"A", "B"}, "none": {"", ""}} {
		rnd := rand.New(rand.NewPCG(6, 63))
		var plants []genetics.Parents
		var records []Record
		for s := range 4 {
			for i := range 15 {
				p := genetics.Parents{ID: fmt.Sprintf("%d-%d", s, i)}
				if s == 0 {
					p.Group = groups[i%2]
				} else {
					p.Seed = fmt.Sprintf("%d-%d", s-1, rnd.IntN(5))
				}
				plants = append(plants, p)
				records = append(records, Record{Plant: p.ID, Season: fmt.Sprint(s), Lab: cie.Lab{
					L: 70 + 3*rnd.NormFloat64(), A: 10 + 3*rnd.NormFloat64(), B: 30 + 3*rnd.NormFloat64()}})
			}
		}
		v, err := Predict(plants, records, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range plants {
			value, _ := v.Of(p.ID)
			if d := cie.DeltaE2000(value.Lab, cie.Lab{L: 70, A: 10, B: 30}); d > 8 {
				t.Errorf("%s: the value of %s is %.1f away from the line", name, p.ID, d)
			}
			if p.Seed == "" {
				continue
			}
			at, _ := v.Ped.Place(p.ID)
			_, pollen := v.Ped.Parents(at)
			want := ""
			if name == "one group" {
				want = "Old"
			}
			if int(pollen) >= v.Ped.Groups() || v.Ped.ID(pollen) != want {
				t.Errorf("%s: the pollen parent of %s is %q, want the group %q", name, p.ID, v.Ped.ID(pollen), want)
			}
		}
		for axis := range 3 {
			if h2, _ := v.Fit.Heritability(axis); h2 > 0.6 {
				t.Errorf("%s: heritability %.2f of plants that resemble no relative", name, h2)
			}
		}
	}
}
