package selection

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// What a plan goes by lets plants of mixed groups differ more from their parents' mean than what plants are ranked by, which stays the
// usual model's; in one group both are the same.
func TestAhead(t *testing.T) {
	t.Parallel()
	g := newGarden(rand.New(rand.NewPCG(3, 99)), 0.45, strongGenes{})
	g.mix()
	values := func(take func(p *grown) bool) *Values {
		var plants []genetics.Parents
		var records []Record
		for _, p := range g.plants {
			if take(p) {
				plants, records = append(plants, p.Parents), append(records, Record{Plant: p.ID, Season: p.season, Lab: p.measured})
			}
		}
		v, err := Predict(plants, records, &ValueOptions{AddsUp: true})
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	v := values(func(*grown) bool { return true })
	before, _ := v.Of("3-0")
	w := v.ahead()
	if after, _ := v.Of("3-0"); !reflect.DeepEqual(before, after) {
		t.Errorf("a plan changes what a plant is ranked by, from %v to %v", before, after)
	}
	apart := func(v *Values) (sum float64) { // of the F2 from their parents' means, in additive standard deviations
		inv := space.Inverse(unflat(v.Components.Additive))
		for _, p := range g.season(3) {
			x, _ := v.Of(p.ID)
			a, _ := v.Of(p.Seed)
			b, _ := v.Of(p.Pollen)
			d := space.Minus(space.Of(x.Lab), space.Times(0.5, space.Plus(space.Of(a.Lab), space.Of(b.Lab))))
			sum += space.Quadratic(inv, d)
		}
		return sum
	}
	if a, b := apart(v), apart(w); !(b > 1.1*a) {
		t.Errorf("an F2 of two groups lies %.1f from its parents' means, and %.1f in the plan's model", a, b)
	}
	if one := values(func(p *grown) bool { return p.Group == "A" }); one.ahead() != one {
		t.Error("values of one group without strong genes are worked out anew")
	}
}
