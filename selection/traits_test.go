package selection

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
)

// scoredLine is 20 unrelated plants in order of distance, a score each.
func scoredLine() (obs []Observation, ped []genetics.Parents, score map[string]float64) {
	score = map[string]float64{}
	for i := range 20 {
		id := fmt.Sprintf("M-%02d", i+1)
		obs = append(obs, Observation{Plant: id, Lab: cie.Lab{L: buff.Lab.L + 0.4*float64(i), A: buff.Lab.A, B: buff.Lab.B},
			SE: [3]float64{0.2, 0.2, 0.2}})
		ped = append(ped, genetics.Parents{ID: id})
		score[id] = float64(1 + i%5)
	}
	return obs, ped, score
}

func TestRankMust(t *testing.T) {
	t.Parallel()
	obs, _, score := scoredLine()
	delete(score, "M-02")
	three := 3.0
	r := mustRank(t, obs, &Options{Keep: 4, Traits: []Trait{{Name: "form", Score: score, Least: &three}}})
	var kept []string
	sum := 0.0
	for _, p := range r.Plants {
		if p.Advice == Keep {
			kept = append(kept, p.ID)
		}
		if p.Lacks != "" && (p.Advice != Pass || p.ChanceKept != 0 || p.Why != "form "+fmt.Sprint(score[p.ID])+", and 3 at least is wanted") {
			t.Errorf("%s lacks form: %s with chance %v, %q", p.ID, p.Advice, p.ChanceKept, p.Why)
		}
		sum += p.ChanceKept
	}
	// M-01 has form 1; M-02 was not scored; M-03 3, M-04 4, M-05 5; M-06 and M-07 1 and 2.
	if got := strings.Join(kept, " "); got != "M-02 M-03 M-04 M-05" {
		t.Errorf("kept %s", got)
	}
	if !strings.Contains(r.Plants[0].Why, "not scored for form") || math.Abs(sum-4) > 1e-9 {
		t.Errorf("%q; chances add up to %v, want 4", r.Plants[0].Why, sum)
	}
}

// A weight of much brings the plants of better form to the top, in their order; one of
// nothing changes nothing.
func TestRankWeigh(t *testing.T) {
	t.Parallel()
	obs, ped, score := scoredLine()
	plain := mustRank(t, obs, nil)
	weighed := mustRank(t, obs, &Options{Pedigree: ped, Traits: []Trait{{Name: "form", Score: score, Weight: 20}}})
	for i, p := range weighed.Plants[:3] {
		if score[p.ID] != 5 {
			t.Errorf("place %d: %s with form %v", i+1, p.ID, score[p.ID])
		}
	}
	less := mustRank(t, obs, &Options{Pedigree: ped, Traits: []Trait{{Name: "form", Score: score, Weight: 20, Less: true}}})
	if score[less.Plants[0].ID] != 1 || !strings.Contains(less.Plants[0].Why, "nearer for other traits") {
		t.Errorf("less is better: first is %s, %q", less.Plants[0].ID, less.Plants[0].Why)
	}
	if plain.Plants[0].ID != "M-01" || plain.Plants[0].Bonus != 0 {
		t.Errorf("without weights: %+v", plain.Plants[0])
	}
	if _, err := Rank(buff, obs, &Options{Pedigree: ped, Traits: []Trait{{Name: "form", Score: map[string]float64{"M-01": 1},
		Weight: 1}}}); !errors.Is(err, ErrNoScores) {
		t.Errorf("one score: %v", err)
	}
}

// What weighs in the ranking weighs in pairs: by the mean of both parents.
func TestPairsWeigh(t *testing.T) {
	t.Parallel()
	obs, ped, score := scoredLine()
	records, err := Records(map[string][]Observation{"2026": obs})
	if err != nil {
		t.Fatal(err)
	}
	v, err := Predict(ped, records, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := mustRank(t, obs, &Options{Pedigree: ped, Values: v, Traits: []Trait{{Name: "form", Score: score, Weight: 4}}})
	var ids []string
	bonus := map[string]float64{}
	for _, p := range r.Plants {
		ids, bonus[p.ID] = append(ids, p.ID), p.Bonus
	}
	plain, err := Pairs(v, buff, &PairOptions{Candidates: ids})
	if err != nil {
		t.Fatal(err)
	}
	weighed, err := Pairs(v, buff, &PairOptions{Candidates: ids, Bonus: r.Bonuses})
	if err != nil {
		t.Fatal(err)
	}
	mean := func(pairs []Pair) (form float64) {
		for _, p := range pairs {
			form += (score[p.SeedParent] + score[p.PollenParent]) / float64(2*len(pairs))
		}
		return form
	}
	if a, b := mean(plain.Chosen), mean(weighed.Chosen); b < a+0.5 {
		t.Errorf("form of the parents of the chosen crosses: %.2f, weighed %.2f; want more", a, b)
	}
	for i, p := range weighed.Pairs {
		want := (bonus[p.SeedParent] + bonus[p.PollenParent]) / 2
		if math.Abs(p.Bonus-want) > 1e-9 || math.Abs(p.Sorts-(p.Predicted.Distance-want)) > 1e-9 {
			t.Errorf("%s: bonus %v, sorted by %v of %v; want %v", p.Words(), p.Bonus, p.Sorts, p.Predicted.Distance, want)
		}
		if i > 0 && p.Sorts < weighed.Pairs[i-1].Sorts {
			t.Errorf("%s with %v stands behind %v", p.Words(), p.Sorts, weighed.Pairs[i-1].Sorts)
		}
	}
	if p := weighed.Pairs[0]; p.Bonus < 0.5 || !strings.Contains(p.Why, fmt.Sprintf("; %.1f nearer for other traits", p.Bonus)) {
		t.Errorf("%s: bonus %.1f, %q", p.Words(), p.Bonus, p.Why)
	}
}

// A trait's own heritability: high where sibs are alike, low where they are not.
func TestPredictTrait(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(23, 23))
	for _, h2 := range []float64{0.1, 0.8} {
		var ped []genetics.Parents
		score := map[string]float64{}
		for f := range 40 {
			m := math.Sqrt(h2/2) * rnd.NormFloat64()
			for i := range 8 {
				id := fmt.Sprintf("%d-%d", f, i)
				ped = append(ped, genetics.Parents{ID: id, Seed: fmt.Sprint("s", f), Pollen: fmt.Sprint("p", f)})
				score[id] = 50 + 10*(m+math.Sqrt(1-h2/2)*rnd.NormFloat64())
			}
		}
		v, err := PredictTrait(ped, &Trait{Name: "stem length", Score: score})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(v.Heritability.Value-h2) > 0.2 || math.Abs(v.SD-10) > 1.5 {
			t.Errorf("heritability %.2f and spread %.1f, want %.1f and 10", v.Heritability.Value, v.SD, h2)
		}
	}
	v, err := PredictTrait([]genetics.Parents{{ID: "a"}, {ID: "b"}, {ID: "c"}}, &Trait{Score: map[string]float64{"a": 2, "b": 2, "c": 2}})
	if err != nil || v.Value["a"] != 0 {
		t.Errorf("equal scores: %v, %v", v, err)
	}
}
