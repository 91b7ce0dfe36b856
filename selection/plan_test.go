package selection

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// aLine is a line that tests share and do not change, with what its plants pass on.
var aLine = sync.OnceValues(func() (*infinite, error) {
	g := newInfinite(rand.New(rand.NewPCG(12, 12)), 0.5)
	var err error
	g.values, err = Predict(g.plants, g.records, nil)
	return g, err
})

func planValues(t testing.TB) (*Values, *infinite) {
	t.Helper()
	g, err := aLine()
	if err != nil {
		t.Fatal(err)
	}
	return g.values, g
}

func TestPlanAhead(t *testing.T) {
	t.Parallel()
	v, g := planValues(t)
	first, _ := v.Of(g.last[0])
	target := Target{Lab: space.Lab(space.Plus(space.Of(first.Lab), space.Vector{6, -4, 4})), Within: 3}
	opt := &PlanOptions{Candidates: g.last, Choices: []Choice{{20, 4}, {120, 4}, {120, 24}}, Runs: 60, Seasons: 6}
	p, err := PlanAhead(v, target, opt)
	if err != nil {
		t.Fatal(err)
	}
	alone := *opt
	alone.Choices = opt.Choices[2:]
	again, err := PlanAhead(v, target, &alone)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(p.Courses[2:], again.Courses); d != "" {
		t.Errorf("the same seed, one choice alone, gives another course:\n%s", d)
	}
	few, many, wide := p.Courses[0], p.Courses[1], p.Courses[2]
	for _, c := range p.Courses {
		for s := 1; s < len(c.Reached); s++ {
			if c.Reached[s] < c.Reached[s-1] || c.Reached[s] > 1+1e-9 {
				t.Errorf("chances to have reached %v fall, or pass 1", c.Reached)
			}
		}
	}
	if !(many.Distance[3] < few.Distance[3]) {
		t.Errorf("with 120 plants %.2f away after 4 seasons, with 20 %.2f", many.Distance[3], few.Distance[3])
	}
	// Crosses as [Pairs] chooses them cost a tenth of the variety that is left in a season, whatever is kept, and no more.
	for _, c := range p.Courses {
		if f := c.Inbreeding[5]; !(f > 0.2 && f < 1-math.Pow(0.9, 6)+0.08) {
			t.Errorf("grow %d, keep %d: inbreeding %.3f after 6 seasons", c.Grow, c.Keep, f)
		}
	}
	if !(wide.Inbreeding[5] < many.Inbreeding[5]) {
		t.Errorf("24 parents: inbreeding %.3f after 6 seasons, 4 parents %.3f", wide.Inbreeding[5], many.Inbreeding[5])
	}
}

func TestPlanRefuses(t *testing.T) {
	t.Parallel()
	v, g := planValues(t)
	for _, o := range []*PlanOptions{
		nil, {Candidates: []string{"nobody"}}, {Candidates: g.last, Choices: []Choice{{10, 11}}}, {Candidates: g.last, Choices: []Choice{{0, 0}}},
	} {
		if _, err := PlanAhead(v, buff, o); err == nil {
			t.Errorf("options %+v: no error", o)
		}
	}
}

// Falconer and Mackay 1996, chapter 4: one in a hundred a season is an effective number
// of 50.
func TestParentsToHold(t *testing.T) {
	t.Parallel()
	if equal, chance := genetics.ParentsToHold(0.01); equal != 25 || chance != 50 {
		t.Errorf("%d and %d parents, want 25 and 50", equal, chance)
	}
	// By genes dropped down a pedigree: coancestry of the offspring of n plants that
	// are not related, each giving two, against each giving by lot.
	rnd := rand.New(rand.NewPCG(13, 13))
	const n = 50
	rise := func(equal bool) float64 {
		sum := 0.0
		const runs = 400
		for range runs {
			var gametes []int // the parent of each
			for i := range 2 * n {
				if equal {
					gametes = append(gametes, i%n)
				} else {
					gametes = append(gametes, rnd.IntN(n))
				}
			}
			rnd.Shuffle(len(gametes), func(i, j int) { gametes[i], gametes[j] = gametes[j], gametes[i] })
			// Two genes of different offspring: from one parent, alike half the time.
			for range 200 {
				i, j := rnd.IntN(n), rnd.IntN(n-1)
				if j >= i {
					j++
				}
				if gametes[2*i+rnd.IntN(2)] == gametes[2*j+rnd.IntN(2)] {
					sum += 0.5 / (200 * runs)
				}
			}
		}
		return sum
	}
	if got := rise(false); got < 0.0085 || got > 0.0115 {
		t.Errorf("50 parents by lot: coancestry rises by %.4f, want 0.01", got)
	}
	if got := rise(true); got < 0.0040 || got > 0.0062 {
		t.Errorf("50 parents that give alike: coancestry rises by %.4f, want 0.005", got)
	}
}

// One plant that sets no seed to its own pollen makes no season: it is said, where it was a division by zero.
func TestPlanOnePlant(t *testing.T) {
	t.Parallel()
	g := newInfinite(rand.New(rand.NewPCG(26, 26)), 0.5)
	v, err := Predict(g.plants, g.records, nil)
	if err != nil {
		t.Fatal(err)
	}
	two := []string{g.plants[0].ID, g.plants[1].ID}
	for _, c := range []struct {
		ids  []string
		keep int
		hold bool
		ok   bool
	}{{two[:1], 2, false, false}, {two[:1], 2, true, false}, {two, 1, false, false}, {two, 1, true, false}, {two, 2, false, true}} {
		_, err := PlanAhead(v, buff, &PlanOptions{Candidates: c.ids, NoSelfs: true, Hold: c.hold, Choices: []Choice{{4, c.keep}},
			Seasons: 2, Runs: 2})
		if c.ok != (err == nil) {
			t.Errorf("%d plants, keep %d, held %v: %v", len(c.ids), c.keep, c.hold, err)
		}
	}
}

// A plan's next season is that of the crosses which Pairs chooses: the same plants, and no others.
func TestPlanChoosesAsPairs(t *testing.T) {
	t.Parallel()
	v, g := planValues(t)
	target := Target{Lab: buff.Lab, Within: 3}
	r, err := Crosses(v, target, &PairOptions{Candidates: g.last, MostPlants: 6})
	if err != nil {
		t.Fatal(err)
	}
	p := &planning{seasons: 1, runs: 1, target: target, near: cie.NearnessTo(target.Lab)}
	if err := p.begin(v, g.last); err != nil {
		t.Fatal(err)
	}
	// Under other values, by which the plants are told apart in another way, the same places are the same plants.
	other, err := Predict(g.plants, g.records, &ValueOptions{AddsUp: true, Components: &genetics.Components{
		Additive: flat(space.Diag(space.Even(1))), Residual: flat(space.Diag(space.Even(30)))}})
	if err != nil {
		t.Fatal(err)
	}
	q := p.under()
	if err := q.begin(other, g.last); err != nil {
		t.Fatal(err)
	}
	for i, c := range p.pairing.candidates {
		if id := q.pairing.candidates[i].id; id != c.id {
			t.Errorf("place %d is %s, under other values %s", i, c.id, id)
		}
	}
	var want, got []string
	for i := range r.Chosen {
		want = append(want, r.Chosen[i].Words())
	}
	for _, x := range p.first(6) {
		a, b := p.pairing.candidates[x[0]].id, p.pairing.candidates[x[1]].id
		if CompareIDs(a, b) > 0 {
			a, b = b, a
		}
		pair := Pair{SeedParent: a, PollenParent: b}
		if a == b {
			pair.Kind = KindSelf
		}
		got = append(got, pair.Words())
	}
	slices.Sort(want)
	slices.Sort(got)
	if d := cmp.Diff(want, got); d != "" || len(got) == 0 {
		t.Errorf("crosses of a plan's next season differ from those chosen:\n%s", d)
	}
	// The merit of later seasons, at six points, is near that of Pairs, at 64.
	w := &scratch{}
	for i := range p.values {
		w.plants = append(w.plants, simPlant{value: p.values[i], error: p.errorOf[i], inbreeding: 2*p.coancestry[i][i] - 1})
	}
	p.unsorted(w)
	for _, c := range p.pairing.rate() {
		i, j := c.Places[0], c.Places[1]
		if got := p.merit(w, i, j); math.Abs(got-c.Merit) > 0.4+0.05*c.Merit {
			t.Errorf("pair %v: %.2f away, by Pairs %.2f", c.Places, got, c.Merit)
		}
	}
}
