package selection

import (
	"cmp"
	"slices"
)

// usualCrosses is how many crosses are chosen together where nobody asks for others.
const usualCrosses = 6

// What a farther cross may be farther by, in Delta E and as a share, to be worth a bed, and by
// how much nearer one must be that needs a plant which the ranking would drop. Under 1 Delta E is
// hardly seen, common practice; the rest are guesses.
const (
	worthBed      = 1.0
	worthBedShare = 0.1
	spareCost     = 0.25
)

// worth are those of the pairs, best first, that are worth a bed; those that need a plant which would be
// dropped stand behind what they cost. Of a held line it is all of them.
func (f *pairing) worth(all []Pair) []Pair {
	if f.opt.Hold {
		return all
	}
	limit := all[0].merit + max(worthBed, worthBedShare*(all[0].merit+all[0].Bonus))
	out := make([]Pair, 0, len(all))
	for _, p := range all {
		if p.merit > limit {
			break
		}
		for _, i := range p.places {
			if f.opt.Spare[f.candidates[i].id] && (p.cost == 0 || p.places[0] != p.places[1]) {
				p.cost += spareCost
			}
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(a, b Pair) int { return cmp.Compare(a.merit+a.cost, b.merit+b.cost) })
	return out
}

// listed are the pairs but for those of a spare plant that no chosen cross needs.
func (f *pairing) listed(all, chosen []Pair) []Pair {
	if len(f.opt.Spare) == 0 {
		return all
	}
	needed := map[int]bool{}
	for _, p := range chosen {
		needed[p.places[0]], needed[p.places[1]] = true, true
	}
	out := make([]Pair, 0, len(all))
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

// choose picks the set of crosses: the best ones first as far as the limits allow,
// then exchanges of one cross for another as long as one helps. The set's worth is its
// mean merit, plus what it exceeds the limit of inbreeding by, dearly.
func (f *pairing) choose(all []Pair) (chosen []Pair, gain float64) {
	k := f.opt.Crosses
	if k <= 0 {
		k = usualCrosses
	}
	most := f.opt.MostUses
	if most <= 0 {
		most = 3
	}
	n := len(f.candidates)
	plants := f.opt.MostPlants
	if plants <= 0 {
		plants = n
	}
	if reach := most * min(n, plants); k > reach { // each cross uses up a place of one plant at least
		k = reach
	}
	s := &crossSet{f: f, uses: make([]int, n), most: most, plants: plants}
	considered := all[:min(len(all), mostConsidered)]
	for len(s.pairs) < k {
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
		slot, best, worth := -1, -1, s.worth(Pair{}, -2)
		for at := range s.pairs {
			for i := range considered {
				if !s.allows(considered[i], at) {
					continue
				}
				if w := s.worth(considered[i], at); w < worth-1e-9 {
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
	slices.SortStableFunc(s.pairs, func(a, b Pair) int { return cmp.Compare(a.merit, b.merit) })
	return s.pairs, s.gain(s.uses, len(s.pairs))
}

// crossSet is a set of crosses under way.
type crossSet struct {
	f            *pairing
	pairs        []Pair
	uses         []int // of each candidate; a self uses its plant twice
	most, plants int
	sum          float64 // of merits
}

func (s *crossSet) add(p Pair) {
	s.pairs = append(s.pairs, p)
	s.uses[p.places[0]]++
	s.uses[p.places[1]]++
	s.sum += p.merit + p.cost
}

func (s *crossSet) remove(at int) {
	p := s.pairs[at]
	s.pairs = slices.Delete(s.pairs, at, at+1)
	s.uses[p.places[0]]--
	s.uses[p.places[1]]--
	s.sum -= p.merit + p.cost
}

// with calls f with the uses as they would be with p in the place of slot, -1: with p
// besides, -2: as they are.
func (s *crossSet) with(p Pair, slot int, f func(n int)) {
	change := func(q Pair, by int) {
		s.uses[q.places[0]] += by
		s.uses[q.places[1]] += by
	}
	n := len(s.pairs)
	switch {
	case slot >= 0:
		change(s.pairs[slot], -1)
		defer change(s.pairs[slot], 1)
	case slot == -1:
		n++
	}
	if slot > -2 {
		change(p, 1)
		defer change(p, -1)
	}
	f(n)
}

// allows reports whether p may be in the set, in the place of slot.
func (s *crossSet) allows(p Pair, slot int) (ok bool) {
	for i, q := range s.pairs {
		if i != slot && q.places == p.places {
			return false
		}
	}
	s.with(p, slot, func(int) {
		distinct := 0
		ok = true
		for _, u := range s.uses {
			if u > 0 {
				distinct++
			}
		}
		// A self counts as one use of its plant, though it takes both parts.
		for _, i := range p.places {
			u := s.uses[i]
			for j, q := range s.pairs {
				if j != slot && q.places[0] == i && q.places[1] == i {
					u--
				}
			}
			if p.places[0] == p.places[1] {
				u--
			}
			ok = ok && u <= s.most
		}
		ok = ok && distinct <= s.plants
	})
	return ok
}

// worth is the set's, lower is better.
func (s *crossSet) worth(p Pair, slot int) (w float64) {
	sum := s.sum
	switch {
	case slot >= 0:
		sum += p.merit + p.cost - s.pairs[slot].merit - s.pairs[slot].cost
	case slot == -1:
		sum += p.merit + p.cost
	}
	s.with(p, slot, func(n int) {
		w = sum/float64(n) + 100*max(0, s.gain(s.uses, n)-s.f.limit())
	})
	return w
}

// gain is the coancestry that offspring in equal numbers of n crosses will have with
// each other on average, beyond the candidates' own, as a share of what is left.
func (s *crossSet) gain(uses []int, n int) float64 {
	if n == 0 {
		return 0
	}
	c := 0.0
	for i, u := range uses {
		if u == 0 {
			continue
		}
		for j, v := range uses {
			if v > 0 {
				c += float64(u*v) * s.f.coancestry[i][j]
			}
		}
	}
	c /= float64(4 * n * n)
	return (c - s.f.mean) / (1 - min(s.f.mean, 0.999))
}
