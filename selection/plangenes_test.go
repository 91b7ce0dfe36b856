package selection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// A line with a recessive pale form, of which an F2 was grown; the target is pale. What comes of it: the
// gene is found; carriers and pale plants are told; offspring of carriers are parted 3 to 1; and a plan
// gets there, where one that takes colour to add up would not be so sure of it.
func TestStrongGeneTold(t *testing.T) {
	t.Parallel()
	g := newGarden(rand.New(rand.NewPCG(11, 99)), 0.45, strongTruths[1].strongGenes)
	season := g.mix()
	var plants []genetics.Parents
	var records []Record
	for _, p := range g.plants {
		plants = append(plants, p.Parents)
		records = append(records, Record{Plant: p.ID, Season: p.season, Lab: p.measured})
	}
	v, err := Predict(plants, records, nil)
	if err != nil {
		t.Fatal(err)
	}
	if v.Genes == nil || v.Genes.Loci != 1 {
		t.Fatalf("genes %+v", v.Genes)
	}
	ownTold(t, v, records)
	var opt PairOptions
	carriers, hidden, others, chance := 0.0, 0.0, 0.0, 0.0
	pale := ""
	for _, p := range g.season(season) {
		opt.Candidates = append(opt.Candidates, p.ID)
		c := 0.0
		for _, k := range v.Carries(p.ID) {
			c = k.Chance
		}
		switch p.copies()[0] {
		case 0:
			others, chance = others+1, chance+c
		case 1:
			carriers, hidden = carriers+1, hidden+c
		default:
			pale = p.ID
			if at, _ := v.Ped.Place(p.ID); v.copies(at, 0)[2] < 0.5 {
				t.Errorf("%s is pale; the chance that is said is %.2f", p.ID, v.copies(at, 0)[2])
			}
		}
	}
	if hidden/carriers < chance/others+0.1 {
		t.Errorf("carriers are told from others by a chance of %.2f against %.2f", hidden/carriers, chance/others)
	}
	opt.Top = 30
	r, err := Pairs(v, g.target, &opt)
	if err != nil {
		t.Fatal(err)
	}
	parted := 0
	for i := range r.Pairs {
		p := &r.Pairs[i]
		if n := len(p.Offspring.Kinds); n > 1 {
			parted++
			sum := 0.0
			for _, k := range p.Offspring.Kinds {
				sum += k.Share
			}
			if sum < 0.99 || sum > 1.01 {
				t.Errorf("shares of %s and %s add up to %.3f", p.SeedParent, p.PollenParent, sum)
			}
		}
		if p.SeedParent == pale && p.Kind == KindSelf && p.Predicted.ChanceWithin > p.Predicted.NextWithin+0.1 {
			t.Errorf("selfs of the pale %s: %.2f within the tolerance, their offspring %.2f", pale, p.Predicted.ChanceWithin, p.Predicted.NextWithin)
		}
	}
	if parted == 0 || len(r.Tests) == 0 {
		t.Errorf("of %d pairs %d are parted; %d tests are told", len(r.Pairs), parted, len(r.Tests))
	}
	for _, q := range r.Tests {
		if q.Kind == "self" && q.Plants != 11 || q.Kind == "test cross" && (q.Plants < 5 || q.Plants > 7) { // ln 0.05 / ln 0.75 and ln 0.5
			t.Errorf("test %+v", q)
		}
	}
	plan, err := PlanAhead(v, g.target, &PlanOptions{Candidates: opt.Candidates, Runs: 40, Seasons: 6, Choices: []Choice{{60, 6}}})
	if err != nil {
		t.Fatal(err)
	}
	c := plan.Courses[0]
	if !(c.Reached[5] > 0.3) || c.Distance[5] > c.Distance[0] {
		t.Errorf("a plan reaches the target with chances %s, at distances %.1f", fmt.Sprint(c.Reached), c.Distance)
	}
}

// A cross of two pure lines whose wanted colour is recessive: hidden in the offspring, and in one of
// four of theirs.
func TestHiddenInOffspring(t *testing.T) {
	t.Parallel()
	o := Offspring{Mean: buff.Lab, Within: space.Diag(space.Even(0.2))}
	o.withGenes(&kinds{effects: []space.Vector{{}, {15, 0, 0}}, share: []float64{1, 0}, next: []float64{0.75, 0.25},
		cases: []kindSet{{chance: 1, share: []float64{1, 0}}}})
	target := Target{Lab: space.Lab(space.Plus(space.Of(buff.Lab), space.Vector{15, 0, 0})), Within: 3}
	p := Pair{Offspring: o, Predicted: o.Predict(target, nil)}
	if p.Predicted.ChanceWithin > 1e-9 || p.Predicted.GrowFor95 != 0 || math.Abs(p.Predicted.NextWithin-0.25) > 0.01 || p.hides() == "" {
		t.Errorf("of a cross that hides the shade: %+v, %q", p.Predicted, p.hides())
	}
	// Both parents carry it: one of four, and ln 0.05 / ln 0.75 seeds.
	o = Offspring{Mean: buff.Lab, Within: space.Diag(space.Even(0.2))}
	o.withGenes(&kinds{effects: []space.Vector{{}, {15, 0, 0}}, share: []float64{0.75, 0.25}, next: []float64{0.75, 0.25},
		cases: []kindSet{{chance: 1, share: []float64{0.75, 0.25}}}})
	p = Pair{Offspring: o, Predicted: o.Predict(target, nil)}
	if math.Abs(p.Predicted.ChanceWithin-0.25) > 0.01 || p.Predicted.GrowFor95 != 11 || p.hides() != "" {
		t.Errorf("of two carriers: %+v, %q", p.Predicted, p.hides())
	}
	if m := o.Whole(); math.Abs(m[0][0]-0.2-15*15*0.25*0.75) > 1e-9 {
		t.Errorf("the offspring's variance of L* is %.2f", m[0][0])
	}
}

// What a plant's own colour moves its value by, against the equations solved again with that colour changed; and
// that a plant's value is lower by as much where its genes give more than was expected, so that
// over all that they may be its mean stays.
func ownTold(t *testing.T, v *Values, records []Record) {
	t.Helper()
	sub := &Values{Ped: v.Ped}
	rec, err := sub.records(records)
	if err != nil {
		t.Fatal(err)
	}
	solved := func() *genetics.Evaluation {
		e, err := genetics.Evaluate(v.Ped, rec, &v.Components, &genetics.EvaluateOptions{ValuesOnly: true})
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	i := len(records) - 1
	before := solved()
	for axis := range 3 {
		rec.Y[3*i+axis]++
		after := solved()
		rec.Y[3*i+axis]--
		at := rec.Plant[i]
		for k := range 3 {
			if got, want := v.ownGain[at][k][axis], after.Value(at)[k]-before.Value(at)[k]; math.Abs(got-want) > 0.03 {
				t.Errorf("one more of axis %d moves %d by %.3f, want %.3f", axis, k, got, want)
			}
		}
	}
	var most float64
	for _, r := range records {
		at, _ := v.Ped.Place(r.Plant)
		k := v.kindsOf(v.Genes.Of(at), v.Genes.Of(at), true, true)
		v.shiftCases(k, at, at)
		var mean space.Vector
		for _, c := range k.cases {
			mean = space.Plus(mean, space.Times(c.chance, c.shift))
			most = max(most, math.Sqrt(space.Dot(c.shift, c.shift)))
		}
		if d := math.Sqrt(space.Dot(mean, mean)); d > 0.1 {
			t.Errorf("%s: over all that its genes may be its value is moved by %.2f", r.Plant, d)
		}
	}
	if most < 2 {
		t.Errorf("no plant's value is moved by more than %.2f by what its genes may be", most)
	}
	for k := range 3 {
		if !(v.geneVar[k][k] > 0 && v.Components.Residual[4*k] > v.geneVar[k][k]) {
			t.Errorf("axis %d: of the genes %.2f is not known, and the rest scatters by %.2f", k, v.geneVar[k][k], v.Components.Residual[4*k])
		}
	}
}
