package genetics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// By how much offspring of mixtures of two groups vary more than those of one group, against finite genes whose
// frequencies differ between the groups by the Fst that is taken (Wright's beta distribution about a
// common frequency): of founders, of an F1, of an F2 and of a backcross, crossed in their kind.
func TestSegregating(t *testing.T) {
	t.Parallel()
	plants := []Parents{{ID: "A1", Group: "A"}, {ID: "A2", Group: "A"}, {ID: "A3", Group: "A"}, {ID: "B1", Group: "B"}, {ID: "B2", Group: "B"},
		{ID: "F1", Seed: "A1", Pollen: "B1"}, {ID: "F1'", Seed: "A2", Pollen: "B2"}, {ID: "F2", Seed: "F1", Pollen: "F1'"},
		{ID: "BC", Seed: "F1", Pollen: "A3"}}
	got := Segregating(plants, []string{"A1", "F1", "F2", "BC"})
	rnd := rand.New(rand.NewPCG(5, 6))
	het := map[string]float64{}
	const loci = 60_000
	for range loci {
		mean := 0.1 + 0.8*rnd.Float64()
		freq := map[string]float64{"A": drifted(rnd, mean), "B": drifted(rnd, mean)}
		genes := map[string][2]bool{}
		for _, p := range plants {
			var g [2]bool
			for i, parent := range [2]string{p.Seed, p.Pollen} {
				if parent == "" {
					g[i] = rnd.Float64() < freq[p.Group]
				} else {
					g[i] = genes[parent][rnd.IntN(2)]
				}
			}
			genes[p.ID] = g
			if g[0] != g[1] { // what a plant is heterozygous in segregates in its gametes
				het[p.ID]++
			}
		}
	}
	for id, more := range got {
		if want := het[id] / het["A1"]; math.Abs(more-want) > 0.05 {
			t.Errorf("%s: gametes vary %.3f times as much as a founder's, want %.3f", id, more, want)
		}
	}
	// So do offspring around the mean of their parents, in a pedigree that is widened.
	ped, err := NewPedigree(plants)
	if err != nil {
		t.Fatal(err)
	}
	wide := ped.Widened(plants)
	for id, parents := range map[string][2]string{"F1": {"A1", "B1"}, "F2": {"F1", "F1'"}, "BC": {"F1", "A3"}} {
		at, _ := ped.Place(id)
		want := (het[parents[0]]/het["A1"] + het[parents[1]]/het["A1"]) / 4 // founders of A and of B vary alike, on average
		if got := wide.Mendelian(at); math.Abs(got-want) > 0.02 || math.Abs(ped.Mendelian(at)-0.5) > 1e-12 {
			t.Errorf("%s varies by %.3f around the mean of its parents, in the usual model by %.3f; want %.3f, 0.5", id, got, ped.Mendelian(at),
				want)
		}
	}
	if single, err := NewPedigree(plants[:3]); err != nil || single.Widened(plants[:3]) != single {
		t.Errorf("one group is widened, or %v", err)
	}
	if len(got) != 4 {
		t.Errorf("of 4 plants %v", got)
	}
	if one := Segregating(plants[:3], []string{"A1"}); one != nil {
		t.Errorf("in one group %v", one)
	}
	// Parents that nobody listed are founders of a group of their own.
	if got := Segregating([]Parents{{ID: "A1", Group: "A"}, {ID: "X", Seed: "A1", Pollen: "gone"}}, []string{"X"}); got["X"] < 1.4 {
		t.Errorf("a cross with a plant that is not listed: %s", fmt.Sprint(got))
	}
}

// drifted is a group's frequency of a gene, from a common one: a beta distribution with variance GroupsApart ·
// mean (1 - mean), drawn as a share of two sums of exponentials (gamma by rejection would do as well).
func drifted(rnd *rand.Rand, mean float64) float64 {
	n := (1 - GroupsApart) / GroupsApart
	gamma := func(k float64) float64 { // Marsaglia and Tsang 2000, ACM Trans. Math. Softw. 26:363
		boost := math.Pow(1-rnd.Float64(), 1/k)
		d := k + 1 - 1.0/3
		c := 1 / math.Sqrt(9*d)
		for {
			x := rnd.NormFloat64()
			v := math.Pow(1+c*x, 3)
			if v > 0 && math.Log(1-rnd.Float64()) < x*x/2+d-d*v+d*math.Log(v) {
				return boost * d * v
			}
		}
	}
	x, y := gamma(n*mean), gamma(n*(1-mean))
	return x / (x + y)
}
