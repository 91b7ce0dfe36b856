package selection

import (
	"cmp"
	"slices"
)

// crossing is two candidates, by their places, and what their offspring are worth: lower is better.
type crossing struct {
	places [2]int
	merit  float64
	bonus  float64
	cost   float64 // of plants that would be dropped
}

func byMerit(a, b crossing) int { return cmp.Compare(a.merit, b.merit) }

// usualCrosses is how many crosses are chosen together where nobody asks for others.
const usualCrosses = 6

// usualUses is in how many of them one plant may be.
const usualUses = 3

// What a farther cross may be farther by, in Delta E and as a share, to be worth a bed, and by
// how much nearer one must be that needs a plant which the ranking would drop. Under 1 Delta E is
// hardly seen, common practice; the rest are guesses.
const (
	worthBed      = 1.0
	worthBedShare = 0.1
	spareCost     = 0.25
)

// worthABed are those of the crossings, best first, that are worth a bed.
func worthABed(all []crossing) []crossing {
	if len(all) == 0 {
		return nil
	}
	limit := all[0].merit + max(worthBed, worthBedShare*(all[0].merit+all[0].bonus))
	n := 1
	for n < len(all) && all[n].merit <= limit {
		n++
	}
	return all[:n]
}

// worth are those of the pairs, best first, that are worth a bed; those that need a plant which would be
// dropped stand behind what they cost. Of a held line it is all of them.
func (f *pairing) worth(all []crossing) []crossing {
	if f.opt.Hold {
		return all
	}
	out := slices.Clone(worthABed(all))
	for k := range out {
		p := &out[k]
		for _, i := range p.places {
			if f.opt.Spare[f.candidates[i].id] && (p.cost == 0 || p.places[0] != p.places[1]) {
				p.cost += spareCost
			}
		}
	}
	slices.SortStableFunc(out, func(a, b crossing) int { return cmp.Compare(a.merit+a.cost, b.merit+b.cost) })
	return out
}

// listed are the pairs but for those of a spare plant that no chosen cross needs.
func (f *pairing) listed(all, chosen []crossing) []crossing {
	if len(f.opt.Spare) == 0 {
		return all
	}
	needed := map[int]bool{}
	for _, p := range chosen {
		needed[p.places[0]], needed[p.places[1]] = true, true
	}
	out := make([]crossing, 0, len(all))
	for _, p := range all {
		spare := false
		for _, i := range p.places {
			spare = spare || f.opt.Spare[f.candidates[i].id] && !needed[i]
		}
		if !spare {
			out = append(out, p)
		}
	}
	return out
}

func bySorts(pairs []Pair) {
	slices.SortStableFunc(pairs, func(a, b Pair) int { return cmp.Compare(a.Sorts, b.Sorts) })
}

// mostConsidered is how many of the best pairs are considered for the set.
const mostConsidered = 3000

// choose picks the set of crosses.
func (f *pairing) choose(all []crossing) (chosen []crossing, gain float64) {
	s := &crossSet{coancestry: f.coancestry, mean: f.mean, limit: f.limit(), most: cmp.Or(max(f.opt.MostUses, 0), usualUses),
		plants: max(f.opt.MostPlants, 0)}
	s.choose(all[:min(len(all), mostConsidered)], cmp.Or(max(f.opt.Crosses, 0), usualCrosses))
	return s.crosses, s.gain(s.pool, len(s.crosses))
}

// crossSet is a set of crosses under way. Its worth is its mean merit, plus what it exceeds the limit of inbreeding by,
// dearly.
type crossSet struct {
	coancestry  [][]float64 // of the candidates
	mean, limit float64     // of their coancestry; of what the set may add to it
	most        int         // crosses of one plant
	plants      int         // in all; 0: any

	crosses []crossing
	in      []int     // of each candidate: how many of the crosses it is in
	parents int       // how many are
	kin     []float64 // of each: the sum of its coancestries with all parents, one for each part
	pool    float64   // the sum of kin over all parents
	sum     float64   // of merits and costs
}

// choose fills the set with at most k of those considered, best first: the best ones first as far as the limits allow, then
// exchanges of one cross for another as long as one helps.
func (s *crossSet) choose(considered []crossing, k int) {
	n := len(s.coancestry)
	s.in, s.kin = make([]int, n), make([]float64, n)
	if s.plants <= 0 {
		s.plants = n
	}
	if reach := s.most * min(n, s.plants); k > reach { // each cross uses up a place of one plant at least
		k = reach
	}
	for len(s.crosses) < k {
		best, worth := -1, 0.0
		for i := range considered {
			if !s.allows(considered[i], -1) {
				continue
			}
			if w := s.worth(considered[i], -1); best < 0 || w < worth {
				best, worth = i, w
			}
		}
		if best < 0 {
			break
		}
		s.add(considered[best])
	}
	for range 20 * k { // each exchange makes the set better: this ends by itself
		slot, best, worth := -1, -1, s.worth(crossing{}, -2)
		for at := range s.crosses {
			for i := range considered {
				if w := s.worth(considered[i], at); w < worth-1e-9 && s.allows(considered[i], at) {
					slot, best, worth = at, i, w
				}
			}
		}
		if slot < 0 {
			break
		}
		s.remove(slot)
		s.add(considered[best])
	}
	slices.SortStableFunc(s.crosses, byMerit)
}

func (s *crossSet) add(p crossing) {
	s.crosses = append(s.crosses, p)
	s.change(p, 1)
}

func (s *crossSet) remove(at int) {
	p := s.crosses[at]
	s.crosses = slices.Delete(s.crosses, at, at+1)
	s.change(p, -1)
}

// change counts a cross in, by 1, or out, by -1.
func (s *crossSet) change(p crossing, by int) {
	s.sum += float64(by) * (p.merit + p.cost)
	for k, i := range p.places {
		s.pool += 2*float64(by)*s.kin[i] + s.coancestry[i][i]
		for j, c := range s.coancestry[i] {
			s.kin[j] += float64(by) * c
		}
		if k == 1 && i == p.places[0] {
			continue
		}
		if s.in[i] += by; by > 0 && s.in[i] == 1 || by < 0 && s.in[i] == 0 {
			s.parents += by
		}
	}
}

// allows reports whether p may be in the set: besides, slot -1, or in the place of the cross there.
func (s *crossSet) allows(p crossing, slot int) bool {
	for i := range s.crosses {
		if i != slot && s.crosses[i].places == p.places {
			return false
		}
	}
	var out crossing
	if slot >= 0 {
		out = s.crosses[slot]
	}
	leaves := func(i int) bool { return slot >= 0 && (out.places[0] == i || out.places[1] == i) }
	parents := s.parents
	for k, i := range p.places {
		switch {
		case k == 1 && i == p.places[0]:
		case leaves(i):
			if s.in[i] > s.most {
				return false
			}
		case s.in[i] >= s.most:
			return false
		case s.in[i] == 0:
			parents++
		}
	}
	if slot >= 0 {
		for k, i := range out.places {
			if s.in[i] == 1 && p.places[0] != i && p.places[1] != i && (k == 0 || i != out.places[0]) {
				parents--
			}
		}
	}
	return parents <= s.plants
}

// worth is the set's, lower is better: with p in the place of slot, -1: with p besides, -2: as it is.
func (s *crossSet) worth(p crossing, slot int) float64 {
	n, sum, pool := len(s.crosses), s.sum, s.pool
	if slot == -2 {
		return s.cost(sum, pool, n)
	}
	at, sign := [4]int{p.places[0], p.places[1]}, [4]float64{1, 1, -1, -1}
	moves := at[:2]
	sum += p.merit + p.cost
	if slot >= 0 {
		q := &s.crosses[slot]
		at[2], at[3] = q.places[0], q.places[1]
		moves = at[:]
		sum -= q.merit + q.cost
	} else {
		n++
	}
	for a, i := range moves {
		pool += 2 * sign[a] * s.kin[i]
		for b, j := range moves {
			pool += sign[a] * sign[b] * s.coancestry[i][j]
		}
	}
	return s.cost(sum, pool, n)
}

func (s *crossSet) cost(sum, pool float64, n int) float64 {
	return sum/float64(n) + 100*max(0, s.gain(pool, n)-s.limit)
}

// gain is the coancestry that offspring in equal numbers of n crosses will have with
// each other on average, beyond the candidates' own, as a share of what is left.
func (s *crossSet) gain(pool float64, n int) float64 {
	if n == 0 {
		return 0
	}
	return (pool/float64(4*n*n) - s.mean) / (1 - min(s.mean, 0.999))
}
