package selection

import (
	"cmp"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/mating"
	"hueward/selection/space"
)

// mostCandidates is the largest number of plants whose pairs are all examined in full, with
// the covariance of their values' errors and each pair's whole distribution.
const mostCandidates = 200

// rough is a pair with a merit from the mean and the variance of its offspring alone.
type rough struct {
	i, j  int32
	merit float32
}

// shorten reduces more than mostCandidates candidates to those in the best pairs. It ranks pairs by the distance of their
// mean and the variance around it, with independent errors of the parents; where there are strong genes, by the whole
// distribution. The mean coancestry stays that of all candidates.
func (f *pairing) shorten() {
	n := len(f.candidates)
	if n <= mostCandidates {
		return
	}
	m := space.Metric(space.Of(f.target.Lab))
	own := make([]float64, n)
	for i, c := range f.candidates {
		own[i] = space.Trace(space.Mul(m, f.v.errorVar(c.at))) / 4
	}
	additive := space.Trace(space.Mul(m, f.additive))
	z, near := draws.Few(), cie.NearnessTo(f.target.Lab)
	rows := make([][]rough, n)
	genetics.SideBySide(n, func(i int) {
		x := &f.candidates[i]
		for j := i; j < n; j++ {
			if i == j && f.opt.NoSelfs {
				continue
			}
			y := &f.candidates[j]
			var d float64
			if f.v.Genes != nil {
				o := f.offspring(i, j, false)
				d = o.distance(near, z)
			} else {
				mean := space.Plus(x.value, y.value)
				d = cie.DeltaE2000(space.Lab(space.Vector{mean[0] / 2, mean[1] / 2, mean[2] / 2}), f.target.Lab)
				d = math.Sqrt(d*d + own[i] + own[j] + (x.gives+y.gives)*additive)
			}
			d += mating.Doubt(d, space.Quadratic(m, space.Minus(x.own, y.own)))
			rows[i] = append(rows[i], rough{int32(i), int32(j), float32(d - (x.bonus+y.bonus)/2)})
		}
	})
	all := slices.Concat(rows...)
	slices.SortFunc(all, func(a, b rough) int {
		return cmp.Or(cmp.Compare(a.merit, b.merit), cmp.Compare(a.i, b.i), cmp.Compare(a.j, b.j))
	})
	in, left := make([]bool, n), mostCandidates
	for _, p := range all {
		for _, i := range [2]int32{p.i, p.j} {
			if !in[i] && left > 0 {
				in[i] = true
				left--
			}
		}
	}
	var some []candidate
	for i, c := range f.candidates {
		if in[i] {
			some = append(some, c)
		}
	}
	f.candidates = some
}
