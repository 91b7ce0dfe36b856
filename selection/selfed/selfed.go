// Package selfed finds the selfs among the offspring of a cross whose seed parent's own pollen was not kept out.
//
// Start with [Find]. It looks at petal colour alone, along the line from the seed parent's colour to the pollen
// parent's: selfs lie about their one parent, crossed offspring about the mean of the two or nearer to the pollen
// parent, each with the same scatter. How many are selfs, where the others lie (from a quarter of the way on, as genes
// may be dominant) and the scatter are found by expectation and maximization; an offspring is flagged where it is
// [Sure] a self. Where the parents are less than two and a half scatters apart colour tells nothing, and nobody is
// flagged; where all lie about the seed parent either all are selfs or its colour is dominant, which is said. A self of
// a seed parent that is itself of mixed genes may look like the cross: those are not found. A crossed offspring of a
// pollen parent that carries the seed parent's colour hidden may look like the seed parent: ask only of parents that
// are not related. Distances are Delta E*ab, in one season's light for all.
//
// Method: A. Dempster, N. Laird and D. Rubin 1977, Journal of the Royal Statistical Society B 39, 1-38, for two normal
// distributions of one variance. That offspring which look like the seed parent are taken for selfs is common practice
// in making hybrids by hand; the limits are ours.
package selfed

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// Sure is how likely a self an offspring must be to be flagged.
const Sure = 0.9

// Offspring is a plant with its petal colour.
type Offspring struct {
	ID  string
	Lab cie.Lab
}

// Result is what colour tells of a family.
type Result struct {
	Apart   float64            // between seed parent and the mean of both parents
	Scatter float64            // standard deviation of one offspring along that line
	Share   float64            // of selfs
	Likely  map[string]float64 // of each offspring: the probability that it is a self
	Telling bool               // false: the parents are too alike for colour to tell
	All     bool               // nearly all look like the seed parent: selfs, or its colour is dominant
}

// Self reports whether the plant is flagged.
func (r *Result) Self(id string) bool { return r.Telling && r.Likely[id] >= Sure }

const (
	least    = 2.0  // the smallest scatter that is believed: bed, weather and photo. A guess
	telling  = 2.5  // scatters between parents, from which on colour tells
	prior    = 4.0  // offspring that what is usual counts as
	quarter  = 0.25 // of the way to the pollen parent, where dominance may draw crossed offspring to
	rounds   = 200
	mostSelf = 0.9
)

// Find weighs each offspring of a seed parent by a pollen parent.
func Find(seed, pollen cie.Lab, family []Offspring) *Result {
	u := [3]float64{pollen.L - seed.L, pollen.A - seed.A, pollen.B - seed.B}
	whole := math.Sqrt(u[0]*u[0] + u[1]*u[1] + u[2]*u[2])
	r := &Result{Apart: whole / 2, Scatter: least, Share: 0.5, Likely: map[string]float64{}}
	if whole == 0 || len(family) == 0 {
		return r
	}
	at := make([]float64, len(family))
	for i, o := range family {
		at[i] = ((o.Lab.L-seed.L)*u[0] + (o.Lab.A-seed.A)*u[1] + (o.Lab.B-seed.B)*u[2]) / whole
	}
	mean, usual := r.Apart, math.Max(least, r.Apart/4)
	sd := usual
	p := make([]float64, len(at))
	for range rounds {
		selfs, crossed, sum, square := 0.0, prior, prior*r.Apart, prior*usual*usual
		for i, x := range at {
			self := r.Share * distuv.Normal{Mu: 0, Sigma: sd}.Prob(x)
			other := (1 - r.Share) * distuv.Normal{Mu: mean, Sigma: sd}.Prob(x)
			switch {
			case self+other > 0:
				p[i] = self / (self + other)
			default: // far from both
				p[i] = 0
			}
			if x <= 0 {
				p[i] = math.Max(p[i], 0.5)
			}
			selfs += p[i]
			crossed += 1 - p[i]
			sum += (1 - p[i]) * x
			square += p[i]*x*x + (1-p[i])*(x-mean)*(x-mean)
		}
		n := float64(len(at))
		r.Share = (selfs + 1) / (n + 2)
		mean = math.Min(math.Max(sum/crossed, quarter*whole), whole)
		sd = math.Max(least, math.Sqrt(square/(n+prior)))
	}
	r.Scatter = sd
	r.Telling = r.Apart >= telling*sd
	near := 0
	for i, o := range family {
		r.Likely[o.ID] = p[i]
		if p[i] >= Sure {
			near++
		}
	}
	r.All = r.Telling && len(family) > 2 && float64(near) >= mostSelf*float64(len(family))
	return r
}
