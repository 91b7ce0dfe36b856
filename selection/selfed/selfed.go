// Package selfed finds the selfs among the offspring of a cross whose seed parent's own pollen was not kept out.
//
// Start with [Find]. It uses petal colour alone, projected onto the line from the seed parent's colour to the pollen
// parent's. Selfs scatter around the seed parent, crossed offspring around the mid-parent value or nearer to the pollen
// parent, with the same standard deviation. The share of selfs, the mean of the crossed offspring (at least a quarter of
// the way, as genes may be dominant) and the standard deviation are estimated by expectation maximisation. An offspring
// is flagged if its chance of being a self is at least [Sure]. Where the seed parent and the mid-parent value are less
// than two and a half standard deviations apart, colour cannot tell, and none is flagged. Where nearly all offspring look
// like the seed parent, either they are selfs or its colour is dominant: see [Result].All.
//
// Two cases are not found out: a self of a heterozygous seed parent may look like the cross, and a crossed offspring of a
// pollen parent that carries the seed parent's colour hidden may look like a self, so use it for unrelated parents only.
// Distances are Delta E*ab; all colours must be from one season.
//
// Method: A. Dempster, N. Laird and D. Rubin 1977, Journal of the Royal Statistical Society B 39, 1-38, for two normal
// distributions of one variance. To take offspring that look like the seed parent for selfs is common practice in making
// hybrids by hand; the limits are our own guesses.
package selfed

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
)

// Sure is the least chance of being a self at which an offspring is flagged.
const Sure = 0.9

// Offspring is a plant with its petal colour.
type Offspring struct {
	ID  string
	Lab cie.Lab
}

// Result is what the colours of a family say.
type Result struct {
	Apart   float64            // distance from the seed parent to the mid-parent value, Delta E*ab
	Scatter float64            // standard deviation of the offspring along that line
	Share   float64            // estimated share of selfs
	Likely  map[string]float64 // each offspring's chance of being a self, by id
	Telling bool               // false: the parents are too alike for colour to tell
	All     bool               // nearly all look like the seed parent: selfs, or its colour is dominant
}

// Self reports whether the plant is flagged.
func (r *Result) Self(id string) bool { return r.Telling && r.Likely[id] >= Sure }

const (
	least    = 2.0  // least standard deviation, due to bed, weather and photo
	telling  = 2.5  // least distance of seed parent and mid-parent value, in standard deviations, for colour to tell
	prior    = 4.0  // number of offspring that the prior counts for
	quarter  = 0.25 // least mean of crossed offspring, as a share of the way from seed to pollen parent
	rounds   = 200  // of expectation maximisation
	mostSelf = 0.9  // share of flagged offspring from which All is set
)

// Find estimates for each offspring of a cross the chance that it is a self of the seed parent.
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
			default: // far from both, so that both densities are 0
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
