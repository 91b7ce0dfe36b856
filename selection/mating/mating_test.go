package mating

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// mean is what offspring in equal numbers of some crosses share beyond the candidates, from its definition: the mean coancestry
// of the parents of two of them, each parent drawn at random.
func mean(c [][]float64, all float64, crosses []Crossing) float64 {
	sum, n := 0.0, 0.0
	for _, p := range crosses {
		for _, q := range crosses {
			for _, i := range p.Places {
				for _, j := range q.Places {
					sum, n = sum+c[i][j], n+1
				}
			}
		}
	}
	return (sum/n - all) / (1 - all)
}

// Sets of few candidates: within the limits of uses and plants, the gain as it is defined, and of the sets that can be
// made one cross apart none better; so counted out anew, not by sums that are kept.
func TestChoose(t *testing.T) {
	for seed := range uint64(40) {
		rnd := rand.New(rand.NewPCG(seed, 5))
		const n = 7
		s := &Set{Limit: 0.15, Most: 1 + rnd.IntN(3), Plants: rnd.IntN(6)}
		for range n {
			s.Coancestry = append(s.Coancestry, make([]float64, n))
		}
		for i := range n {
			for j := range i + 1 {
				x := 0.3 * rnd.Float64()
				if i == j {
					x = 0.5 + 0.2*rnd.Float64()
				}
				s.Coancestry[i][j], s.Coancestry[j][i] = x, x
				s.Mean += x / (n * n)
				if i != j {
					s.Mean += x / (n * n)
				}
			}
		}
		var all []Crossing
		for i := range n {
			for j := i; j < n; j++ {
				all = append(all, Crossing{Places: [2]int{i, j}, Merit: 3 * rnd.Float64()})
			}
		}
		slices.SortFunc(all, ByMerit)
		allowed := func(crosses []Crossing) bool {
			uses, seen := map[int]int{}, map[[2]int]bool{}
			for _, p := range crosses {
				if seen[p.Places] {
					return false
				}
				seen[p.Places] = true
				uses[p.Places[0]]++
				if p.Places[1] != p.Places[0] {
					uses[p.Places[1]]++
				}
			}
			for _, u := range uses {
				if u > s.Most {
					return false
				}
			}
			return len(uses) <= s.Plants
		}
		cost := func(crosses []Crossing) float64 {
			sum := 0.0
			for _, p := range crosses {
				sum += p.Merit
			}
			return sum/float64(len(crosses)) + 100*max(0, mean(s.Coancestry, s.Mean, crosses)-s.Limit)
		}
		s.Choose(all, 4)
		if !allowed(s.Crosses) || len(s.Crosses) == 0 {
			t.Fatalf("seed %d: %v breaks the limits: %d uses, %d plants", seed, s.Crosses, s.Most, s.Plants)
		}
		if got, want := s.Gain(), mean(s.Coancestry, s.Mean, s.Crosses); math.Abs(got-want) > 1e-12 {
			t.Errorf("seed %d: gain %v, want %v", seed, got, want)
		}
		for at := range s.Crosses {
			for _, p := range all {
				other := slices.Clone(s.Crosses)
				if other[at] = p; allowed(other) && cost(other) < cost(s.Crosses)-1e-6 {
					t.Errorf("seed %d: with %v in place %d the set would be better: %v, is %v", seed, p, at, cost(other), cost(s.Crosses))
				}
			}
		}
	}
}

// WorthABed takes what stands before the limit in all, sorted.
func TestWorthABed(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		all := make([]Crossing, 1+rnd.IntN(60))
		for i := range all {
			all[i] = Crossing{Places: [2]int{i, i}, Merit: math.Round(40*rnd.Float64()) / 10, Bonus: rnd.Float64()}
		}
		want := slices.Clone(all)
		slices.SortStableFunc(want, ByMerit)
		limit, at := want[0].limit(), 0
		for at < len(want) && want[at].Merit <= limit {
			at++
		}
		got := WorthABed(all)
		if slices.SortFunc(got, ByWorth); !slices.Equal(got, want[:at]) {
			t.Fatalf("%v, want %v", got, want[:at])
		}
	}
}
