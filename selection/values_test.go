package selection

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Awkward books: a sensible answer, or one clear error.
func TestPredictAwkward(t *testing.T) {
	t.Parallel()
	one := []Record{{Plant: "a", Season: "1", Lab: cie.Lab{L: 60, A: 10, B: 30}}}
	equal := []genetics.Parents{}
	var equalRecords []Record
	for i := range 30 {
		id := fmt.Sprint(i)
		p := genetics.Parents{ID: id}
		if i > 3 {
			p.Seed, p.Pollen = fmt.Sprint(i%4), fmt.Sprint((i+1)%4)
		}
		equal = append(equal, p)
		equalRecords = append(equalRecords, Record{Plant: id, Season: "1", Lab: cie.Lab{L: 60, A: 10, B: 30}})
	}
	for name, c := range map[string]struct {
		plants  []genetics.Parents
		records []Record
	}{
		"one plant":       {[]genetics.Parents{{ID: "a"}}, one},
		"a family of one": {[]genetics.Parents{{ID: "a", Seed: "s", Pollen: "p"}}, one},
		"all equal":       {equal, equalRecords},
		"a plant of a pure variety": {[]genetics.Parents{{ID: "a", Group: "pure", Inbreeding: 1}, {ID: "b", Group: "pure", Inbreeding: 1}},
			append(slices.Clone(one), Record{Plant: "b", Season: "2", Lab: cie.Lab{L: 61, A: 10, B: 30}})},
	} {
		v, err := Predict(c.plants, c.records, nil)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		value, ok := v.Of("a")
		if name == "all equal" {
			value, ok = v.Of("7")
		}
		if !ok || cie.DeltaE2000(value.Lab, cie.Lab{L: 60, A: 10, B: 30}) > 1.5 || !(space.Trace(value.Cov) > 0) {
			t.Errorf("%s: value %+v", name, value)
		}
		for _, id := range []string{"a", "7"} { // a target outside what is possible
			if _, ok := v.Of(id); !ok {
				continue
			}
			r, err := Pairs(v, Target{Lab: cie.Lab{L: 20, A: -90, B: -90}}, &PairOptions{Candidates: []string{id}})
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			p := r.Pairs[0]
			if p.Kind != KindSelf || p.Predicted.ChanceWithin != 0 || p.Predicted.GrowFor95 != 0 || math.IsNaN(p.Predicted.Best) ||
				p.Predicted.Best < 20 {
				t.Errorf("%s: a target that cannot be: %+v", name, p.Predicted)
			}
		}
	}
	for name, c := range map[string]struct {
		plants  []genetics.Parents
		records []Record
		opt     *ValueOptions
		want    error
	}{
		"no colour":         {[]genetics.Parents{{ID: "a"}}, nil, nil, ErrNoRecords},
		"its own ancestor":  {[]genetics.Parents{{ID: "a", Seed: "b"}, {ID: "b", Seed: "a"}}, one, nil, genetics.ErrOwnAncestor},
		"unknown plant":     {[]genetics.Parents{{ID: "b"}}, one, nil, nil},
		"NaN":               {[]genetics.Parents{{ID: "a"}}, []Record{{Plant: "a", Lab: cie.Lab{A: math.NaN()}}}, nil, nil},
		"heritability of 1": {[]genetics.Parents{{ID: "a"}}, one, &ValueOptions{Heritability: 1}, nil},
	} {
		if _, err := Predict(c.plants, c.records, c.opt); err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The order of plants and records does not matter.
func TestPredictOrder(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(25, 25))
	g := newInfinite(rnd, 0.5)
	a, err := Predict(g.plants, g.records, nil)
	if err != nil {
		t.Fatal(err)
	}
	rnd.Shuffle(len(g.plants), func(i, j int) { g.plants[i], g.plants[j] = g.plants[j], g.plants[i] })
	rnd.Shuffle(len(g.records), func(i, j int) { g.records[i], g.records[j] = g.records[j], g.records[i] })
	b, err := Predict(g.plants, g.records, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range g.plants {
		x, _ := a.Of(p.ID)
		y, _ := b.Of(p.ID)
		if d := space.Minus(space.Of(x.Lab), space.Of(y.Lab)); math.Sqrt(space.Dot(d, d)) > 1e-3 {
			t.Fatalf("value of %s: %v, and in another order %v", p.ID, x.Lab, y.Lab)
		}
	}
}

// What was assumed, and where season and generation cannot be told apart, is said; check
// plants take that doubt away.
func TestPredictSays(t *testing.T) {
	t.Parallel()
	g := newInfinite(rand.New(rand.NewPCG(26, 26)), 0.5)
	v, err := Predict(g.plants, g.records, nil)
	if err != nil {
		t.Fatal(err)
	}
	if s := strings.Join(v.Assumed, "\n"); !strings.Contains(s, "heritability starts from 0.5, a guess") ||
		!strings.Contains(s, "a season shifts all colours") {
		t.Errorf("assumed: %s", s)
	}
	doubt := "no plant and no variety was grown in two seasons"
	if s := strings.Join(v.Warnings, "\n"); !strings.Contains(s, doubt) {
		t.Errorf("warnings: %s", s)
	}
	for s := 1; s <= 3; s++ {
		id := fmt.Sprint("check ", s)
		g.plants = append(g.plants, genetics.Parents{ID: id, Group: "Old Gold"})
		g.records = append(g.records, Record{Plant: id, Season: fmt.Sprint(s), Lab: cie.Lab{L: 70, A: 30, B: 70}})
	}
	if v, err = Predict(g.plants, g.records, nil); err != nil {
		t.Fatal(err)
	}
	if s := strings.Join(v.Warnings, "\n"); strings.Contains(s, doubt) {
		t.Errorf("with check plants: %s", s)
	}
}

// A season that lightens all colours is taken apart from what is bred, where a check
// variety was grown in it.
func TestPredictSeason(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(27, 27))
	g := newInfinite(rnd, 0.5)
	for s := 1; s <= 3; s++ {
		for i := range 12 {
			id := fmt.Sprintf("check %d-%d", s, i)
			g.plants = append(g.plants, genetics.Parents{ID: id, Group: "Old Gold", Inbreeding: 1})
			g.records = append(g.records, Record{Plant: id, Season: fmt.Sprint(s), Lab: cie.Lab{L: 70 + rnd.NormFloat64(),
				A: 30 + rnd.NormFloat64(), B: 70 + rnd.NormFloat64()}})
		}
	}
	for i := range g.records {
		if g.records[i].Season == "2" {
			g.records[i].Lab.L += 3
		}
	}
	v, err := Predict(g.plants, g.records, nil)
	if err != nil {
		t.Fatal(err)
	}
	between := v.SeasonShift[1][0] - (v.SeasonShift[0][0]+v.SeasonShift[2][0])/2
	if between < 1.5 || between > 3.5 {
		t.Errorf("the second season is %.2f lighter, want about 3, drawn a little to 0", between)
	}
}

// The chosen crosses keep to their limits.
func TestPairsLimits(t *testing.T) {
	t.Parallel()
	v, g := planValues(t)
	for _, o := range []PairOptions{{}, {Crosses: 10, MostUses: 2}, {Crosses: 8, MostPlants: 5}, {Crosses: 6, MostInbreeding: 0.03},
		{Crosses: 3, MostUses: 1, NoSelfs: true}} {
		o.Candidates = g.last
		r, err := Pairs(v, buff, &o)
		if err != nil {
			t.Fatal(err)
		}
		uses := map[string]int{}
		seen := map[string]bool{}
		for _, p := range r.Chosen {
			uses[p.SeedParent]++
			if p.PollenParent != p.SeedParent {
				uses[p.PollenParent]++
			}
			if key := p.SeedParent + "×" + p.PollenParent; seen[key] {
				t.Errorf("%+v: %s twice", o, key)
			} else {
				seen[key] = true
			}
			if o.NoSelfs && p.Kind == KindSelf {
				t.Errorf("a self, though none was wanted: %+v", p)
			}
			if math.Abs(p.Inbreeding-v.Ped.Coancestry(must(v, p.SeedParent), must(v, p.PollenParent))) > 1e-12 {
				t.Errorf("inbreeding of %s × %s is %v", p.SeedParent, p.PollenParent, p.Inbreeding)
			}
		}
		most, want := 3, 6
		if o.MostUses > 0 {
			most = o.MostUses
		}
		if o.Crosses > 0 {
			want = o.Crosses
		}
		for id, n := range uses {
			if n > most {
				t.Errorf("%+v: %s is used %d times", o, id, n)
			}
		}
		if o.MostPlants > 0 && len(uses) > o.MostPlants {
			t.Errorf("%d plants, want at most %d", len(uses), o.MostPlants)
		}
		if len(r.Chosen) > want || o.MostPlants == 0 && len(r.Chosen) != want {
			t.Errorf("%+v: %d crosses, want %d", o, len(r.Chosen), want)
		}
		limit := 0.1
		if o.MostInbreeding > 0 {
			limit = o.MostInbreeding
		}
		if r.Gain > limit+1e-9 && len(r.Warnings) == len(v.Warnings) {
			t.Errorf("%+v: %.3f more inbred than asked for, and nothing said", o, r.Gain)
		}
		if o.MostInbreeding > 0 && r.Gain > 0.08 {
			t.Errorf("a limit of 0.03 hardly holds: %.3f", r.Gain)
		}
	}
}

func must(v *Values, id string) int32 {
	at, _ := v.Ped.Place(id)
	return at
}

// Plants that come up year after year, each with a lasting difference of its own that
// does not pass on: that is told from what does, and from the weather of a year.
func TestPredictPlantEffects(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(29, 29))
	var plants []genetics.Parents
	var records []Record
	z := func(sd float64) space.Vector {
		return space.Vector{sd * rnd.NormFloat64(), sd * rnd.NormFloat64(), sd * rnd.NormFloat64()}
	}
	for f := range 60 {
		family := z(math.Sqrt(0.5) * 3)
		for i := range 5 {
			id := fmt.Sprintf("%d-%d", f, i)
			plants = append(plants, genetics.Parents{ID: id, Seed: fmt.Sprint("s", f), Pollen: fmt.Sprint("p", f)})
			own := space.Plus(space.Plus(space.Vector{70, 20, 40}, family), space.Plus(z(math.Sqrt(0.5)*3), z(2)))
			for s := range 3 {
				records = append(records, Record{Plant: id, Season: fmt.Sprint(s), Lab: space.Lab(space.Plus(own, z(1)))})
			}
		}
	}
	v, err := Predict(plants, records, nil)
	if err != nil {
		t.Fatal(err)
	}
	c := v.Components
	if c.Plant == nil {
		t.Fatal("no plant effects, though all plants have three records")
	}
	for k := range 3 {
		a, p, r := c.Additive[4*k], c.Plant[4*k], c.Residual[4*k]
		if math.Abs(a-9) > 4 || math.Abs(p-4) > 2.5 || math.Abs(r-1) > 0.15 {
			t.Errorf("%s: additive %.2f, plant %.2f, residual %.2f; want 9, 4, 1", space.Axes[k], a, p, r)
		}
	}
	if s := strings.Join(v.Assumed, "\n"); !strings.Contains(s, "300 plants with colours of two seasons") {
		t.Errorf("assumed: %s", s)
	}
}
