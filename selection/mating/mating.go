// Package mating chooses a set of crosses: with offspring near the target, no plant in too many crosses, and coancestry
// that does not rise too fast.
//
// Start with [WorthABed], sort by [ByWorth], then [Set.Choose]. Candidates are numbered from 0; a cross's merit is in Delta E,
// lower is better; coancestry is 0 to 1. Package selection supplies the merits, for its pairs and for the seasons that it plans.
//
// Source: coancestry of a set, Meuwissen 1997, J. Anim. Sci. 75:934.
package mating

import (
	"cmp"
	"math"
	"slices"
)

// Crossing is a possible cross of two candidates, or of one with itself.
type Crossing struct {
	Places [2]int
	Merit  float64 // expected distance of its offspring less Bonus, Delta E; lower is better
	Bonus  float64 // for other traits, Delta E
	Cost   float64 // penalty beside Merit, Delta E: [Doubt], and for plants that would otherwise be dropped
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

// notHalfway is the variance of the mean of a cross's offspring around the mid-parent value, as a share of the squared difference of
// the parents: dominance at few genes may cause that. Chosen by simulated programmes.
const notHalfway = 0.03

// Doubt returns by how many Delta E the expected distance away grows because offspring may not lie half way between their parents. apart
// is the squared difference of the parents' breeding values, without that of founder groups, which many genes make.
func Doubt(away, apart float64) float64 { return math.Sqrt(away*away+notHalfway*apart) - away }

// How much farther than the best a cross may be to be worth a bed: in Delta E, and as a share of the distance. Under 1 Delta E is
// hardly seen (common practice, no source); the share is a guess.
const (
	worthBed      = 1.0
	worthBedShare = 0.1
)

// WorthABed returns those of the crossings that are worth a bed, in the same order: not much farther than the best one. It
// reuses the memory of all.
func WorthABed(all []Crossing) []Crossing {
	if len(all) == 0 {
		return nil
	}
	best := slices.MinFunc(all, ByMerit)
	limit := best.limit()
	return slices.DeleteFunc(all, func(c Crossing) bool { return c.Merit > limit })
}

// limit returns the worst merit that is worth a bed where c is the best cross.
func (c *Crossing) limit() float64 { return c.Merit + max(worthBed, worthBedShare*(c.Merit+c.Bonus)) }

// Set is a set of crosses being chosen. It minimises the crosses' mean of merit and cost, plus 100 times the excess of
// Gain over Limit.
type Set struct {
	Coancestry [][]float64 // candidates × candidates
	Mean       float64     // mean of Coancestry
	Limit      float64     // how much the set may add to Mean, as a share of 1 - Mean
	Most       int         // largest number of crosses of one plant
	Plants     int         // largest number of plants used; 0: any
	Crosses    []Crossing

	in      []int     // each candidate's number of crosses
	parents int       // number of candidates with crosses
	kin     []float64 // each candidate's sum of coancestries with all parents, counted once for each part in a cross
	pool    float64   // the sum of kin over all parents, counted likewise
	sum     float64   // of merits and costs
}

// mostConsidered is the largest number of crosses considered for the set: the best ones.
const mostConsidered = 3000

// Choose fills Crosses with at most k of the crosses considered, which must be in the order of [ByWorth]. It adds the best
// cross that the limits allow, one by one, then exchanges one cross for another as long as that makes the set better.
func (s *Set) Choose(considered []Crossing, k int) {
	n := len(s.Coancestry)
	s.begin()
	if s.Plants <= 0 {
		s.Plants = n
	}
	considered = considered[:min(len(considered), mostConsidered)]
	k = min(k, s.Most*min(n, s.Plants)) // each cross uses up at least one of a plant's Most
	for len(s.Crosses) < k {
		best, worth := -1, 0.0
		for i := range considered {
			p := &considered[i]
			if best >= 0 && (s.sum+p.Merit+p.Cost)/float64(len(s.Crosses)+1) >= worth { // neither it nor any after it is better
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
	for range 20 * k { // a safety limit: each exchange makes the set better, so the loop ends by itself
		slot, best, worth := -1, -1, s.worth(Crossing{}, -2)
		for at := range s.Crosses {
			for i := range considered {
				p, q := &considered[i], &s.Crosses[at]
				if (s.sum+p.Merit+p.Cost-q.Merit-q.Cost)/float64(len(s.Crosses)) >= worth { // neither it nor any after it is better
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

// Take sets Crosses to these crosses, without regard to limits.
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

// change updates the sums for a cross that is added (by 1) or removed (by -1).
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

// allows reports whether p may be added to the set (slot -1), or may replace the cross at slot.
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

// worth returns the worth of the set, lower is better: with p in the place of the cross at slot; with p added (slot -1); or
// as it is (slot -2).
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

// cost returns the worth of a set of n crosses, given the sums of merits and costs and of coancestries.
func (s *Set) cost(sum, pool float64, n int) float64 {
	return sum/float64(n) + 100*max(0, s.gain(pool, n)-s.Limit)
}

// Gain returns how much the set adds to Mean, as a share of 1 - Mean: see [Set].Limit.
func (s *Set) Gain() float64 { return s.gain(s.pool, len(s.Crosses)) }

// gain returns the mean coancestry among the offspring of n crosses, in equal numbers,
// less the candidates' own mean, as a share of 1 - Mean.
func (s *Set) gain(pool float64, n int) float64 {
	if n == 0 {
		return 0
	}
	return (pool/float64(4*n*n) - s.Mean) / (1 - min(s.Mean, 0.999))
}
