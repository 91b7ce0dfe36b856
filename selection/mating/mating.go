// Package mating chooses crosses together: near offspring, no plant in too many, and the line not inbred too fast.
//
// Start with [WorthABed], then [Set.Choose]. Candidates are places, 0 and up; a cross's merit is in Delta E, lower is
// better; coancestry is 0 to 1. What offspring are worth is told by package selection, for its pairs and for the seasons that it
// plans ahead.
//
// Source: coancestry of a set, Meuwissen 1997, J. Anim. Sci. 75:934.
package mating

import (
	"cmp"
	"math"
	"slices"
)

// Crossing is two candidates, by their places, and what their offspring are worth: lower is better.
type Crossing struct {
	Places [2]int
	Merit  float64
	Bonus  float64 // in it, for other traits
	Cost   float64 // of plants that would be dropped, and of what speaks against the cross beside its offspring
}

// ByMerit orders crosses, the best first.
func ByMerit(a, b Crossing) int { return cmp.Compare(a.Merit, b.Merit) }

// ByWorth orders crosses by merit and cost together, the best first; equal ones by merit, then by their places.
func ByWorth(a, b Crossing) int {
	switch x, y := a.Merit+a.Cost, b.Merit+b.Cost; {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return cmp.Or(cmp.Compare(a.Merit, b.Merit), slices.Compare(a.Places[:], b.Places[:]))
}

// notHalfway is the variance of what the mean of a cross's offspring lies off half way between their parents, as a share of the
// square of what these differ by: few genes may make that, with dominance. Chosen by simulated programmes.
const notHalfway = 0.03

// Doubt is by how much farther away offspring are expected for that, the square of what their parents differ by being apart: what
// founder groups differ by, which many genes make, not counted.
func Doubt(away, apart float64) float64 { return math.Sqrt(away*away+notHalfway*apart) - away }

// What a farther cross may be farther by, in Delta E and as a share, to be worth a bed. Under 1 Delta E is hardly seen, common
// practice; the rest is a guess.
const (
	worthBed      = 1.0
	worthBedShare = 0.1
)

// WorthABed sorts out those of the crossings, in any order, that are worth a bed. It works in their place.
func WorthABed(all []Crossing) []Crossing {
	if len(all) == 0 {
		return nil
	}
	best := slices.MinFunc(all, ByMerit)
	limit := best.limit()
	return slices.DeleteFunc(all, func(c Crossing) bool { return c.Merit > limit })
}

// limit is the worst merit that is worth a bed where c is the best.
func (c *Crossing) limit() float64 { return c.Merit + max(worthBed, worthBedShare*(c.Merit+c.Bonus)) }

// Set is a set of crosses under way. Its worth is its mean merit, plus what it exceeds the limit of inbreeding by,
// dearly.
type Set struct {
	Coancestry  [][]float64 // of the candidates
	Mean, Limit float64     // of their coancestry; of what the set may add to it, as a share of what is left to lose
	Most        int         // crosses of one plant
	Plants      int         // in all; 0: any
	Crosses     []Crossing

	in      []int     // of each candidate: how many of the crosses it is in
	parents int       // how many are
	kin     []float64 // of each: the sum of its coancestries with all parents, one for each part
	pool    float64   // the sum of kin over all parents
	sum     float64   // of merits and costs
}

// mostConsidered is how many of the best crosses are considered for the set.
const mostConsidered = 3000

// Choose fills the set with at most k of those considered, which stand in the order of merit and cost together: the best ones
// first as far as the limits allow, then exchanges of one cross for another as long as one helps.
func (s *Set) Choose(considered []Crossing, k int) {
	n := len(s.Coancestry)
	s.begin()
	if s.Plants <= 0 {
		s.Plants = n
	}
	considered = considered[:min(len(considered), mostConsidered)]
	k = min(k, s.Most*min(n, s.Plants)) // each cross uses up a place of one plant at least
	for len(s.Crosses) < k {
		best, worth := -1, 0.0
		for i := range considered {
			p := &considered[i]
			if best >= 0 && (s.sum+p.Merit+p.Cost)/float64(len(s.Crosses)+1) >= worth { // nor is any after it better
				break
			}
			if !s.allows(*p, -1) {
				continue
			}
			if w := s.worth(*p, -1); best < 0 || w < worth {
				best, worth = i, w
			}
		}
		if best < 0 {
			break
		}
		s.add(considered[best])
	}
	for range 20 * k { // each exchange makes the set better: this ends by itself
		slot, best, worth := -1, -1, s.worth(Crossing{}, -2)
		for at := range s.Crosses {
			for i := range considered {
				p, q := &considered[i], &s.Crosses[at]
				if (s.sum+p.Merit+p.Cost-q.Merit-q.Cost)/float64(len(s.Crosses)) >= worth { // nor is any after it better
					break
				}
				if w := s.worth(*p, at); w < worth-1e-9 && s.allows(*p, at) {
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
	slices.SortStableFunc(s.Crosses, ByMerit)
}

// Take makes the set of these crosses, whatever they are.
func (s *Set) Take(crosses []Crossing) {
	s.begin()
	for _, p := range crosses {
		s.add(p)
	}
}

// begin empties the set.
func (s *Set) begin() {
	n := len(s.Coancestry)
	s.Crosses, s.in, s.kin = s.Crosses[:0], slices.Grow(s.in[:0], n)[:n], slices.Grow(s.kin[:0], n)[:n]
	clear(s.in)
	clear(s.kin)
	s.parents, s.pool, s.sum = 0, 0, 0
}

func (s *Set) add(p Crossing) {
	s.Crosses = append(s.Crosses, p)
	s.change(p, 1)
}

func (s *Set) remove(at int) {
	p := s.Crosses[at]
	s.Crosses = slices.Delete(s.Crosses, at, at+1)
	s.change(p, -1)
}

// change counts a cross in, by 1, or out, by -1.
func (s *Set) change(p Crossing, by int) {
	s.sum += float64(by) * (p.Merit + p.Cost)
	for k, i := range p.Places {
		s.pool += 2*float64(by)*s.kin[i] + s.Coancestry[i][i]
		for j, c := range s.Coancestry[i] {
			s.kin[j] += float64(by) * c
		}
		if k == 1 && i == p.Places[0] {
			continue
		}
		if s.in[i] += by; by > 0 && s.in[i] == 1 || by < 0 && s.in[i] == 0 {
			s.parents += by
		}
	}
}

// allows reports whether p may be in the set: besides, slot -1, or in the place of the cross there.
func (s *Set) allows(p Crossing, slot int) bool {
	for i := range s.Crosses {
		if i != slot && s.Crosses[i].Places == p.Places {
			return false
		}
	}
	var out Crossing
	if slot >= 0 {
		out = s.Crosses[slot]
	}
	leaves := func(i int) bool { return slot >= 0 && (out.Places[0] == i || out.Places[1] == i) }
	parents := s.parents
	for k, i := range p.Places {
		switch {
		case k == 1 && i == p.Places[0]:
		case leaves(i):
			if s.in[i] > s.Most {
				return false
			}
		case s.in[i] >= s.Most:
			return false
		case s.in[i] == 0:
			parents++
		}
	}
	if slot >= 0 {
		for k, i := range out.Places {
			if s.in[i] == 1 && p.Places[0] != i && p.Places[1] != i && (k == 0 || i != out.Places[0]) {
				parents--
			}
		}
	}
	return parents <= s.Plants
}

// worth is the set's, lower is better: with p in the place of slot, -1: with p besides, -2: as it is.
func (s *Set) worth(p Crossing, slot int) float64 {
	n, sum, pool := len(s.Crosses), s.sum, s.pool
	if slot == -2 {
		return s.cost(sum, pool, n)
	}
	at, sign := [4]int{p.Places[0], p.Places[1]}, [4]float64{1, 1, -1, -1}
	moves := at[:2]
	sum += p.Merit + p.Cost
	if slot >= 0 {
		q := &s.Crosses[slot]
		at[2], at[3] = q.Places[0], q.Places[1]
		moves = at[:]
		sum -= q.Merit + q.Cost
	} else {
		n++
	}
	for a, i := range moves {
		pool += 2 * sign[a] * s.kin[i]
		for b, j := range moves {
			pool += sign[a] * sign[b] * s.Coancestry[i][j]
		}
	}
	return s.cost(sum, pool, n)
}

func (s *Set) cost(sum, pool float64, n int) float64 {
	return sum/float64(n) + 100*max(0, s.gain(pool, n)-s.Limit)
}

// Gain is what the set adds to the coancestry: beside Limit.
func (s *Set) Gain() float64 { return s.gain(s.pool, len(s.Crosses)) }

// gain is the coancestry that offspring in equal numbers of n crosses will have with
// each other on average, beyond the candidates' own, as a share of what is left.
func (s *Set) gain(pool float64, n int) float64 {
	if n == 0 {
		return 0
	}
	return (pool/float64(4*n*n) - s.Mean) / (1 - min(s.Mean, 0.999))
}
