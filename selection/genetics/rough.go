package genetics

import (
	"cmp"
	"slices"
)

// sibs are the offspring of two plants, the selfs of one, or a group's founders.
type sibs struct {
	parents [2]int32
	of      []int32
	told    []float64    // precision of the message from the offspring to the mean of their parents
	to      [2][]float64 // precision of the messages to each parent
}

// roughErrors returns approximate prediction error covariances, places × t × t, for a pedigree too large to invert. Precisions are
// passed up from plants to their parents and down to their offspring, three times; without loops in the pedigree, and with known
// effects, that would be exact. The error of the mean of an effect's levels, such as seasons, is common to all values, as it is
// confounded with the groups' means.
//
// Source: Pearl 1988, Probabilistic Reasoning in Intelligent Systems, section 7.2, over families;
// TestRoughErrors compares with the exact errors.
func (e *equations) roughErrors() []float64 {
	t, n := e.t, e.ped.Len()
	at := func(x []float64, i int32) []float64 { return x[int(i)*t*t : int(i+1)*t*t] }
	inverse := func(x []float64) []float64 { // 0 where x is singular, such as a precision of 0
		if inv, _, ok := invert(x, t); ok {
			return inv
		}
		return make([]float64, t*t)
	}
	plus := func(x []float64, s float64, y []float64) []float64 {
		z := slices.Clone(x)
		addTo(z, s, y)
		return z
	}
	// Precision of each place from its own records and its offspring; from everything; and of its message to its parents' mean.
	below, all, alone := make([]float64, n*t*t), make([]float64, n*t*t), make([]float64, n*t*t)
	none := make([]float64, t*t)
	for i, plant := range e.rec.Plant {
		w := e.weight[i]
		if e.par.Plant != nil {
			w = inverse(plus(inverse(w), 1, e.par.Plant))
		}
		addTo(at(below, plant), 1, w)
	}
	families := map[[2]int32]*sibs{}
	var order []*sibs
	for i := range int32(n) {
		m, ok := e.mendel(i)
		if int(i) < e.ped.groups {
			if !ok && e.par.Group == nil {
				m.d = least
			} else if !ok {
				m.d = 0.01 // a group's own mean is well known beside its plants'
			}
			addTo(at(all, i), 1/m.d, inverse(e.par.Additive))
			continue
		}
		s, p := e.ped.seed[i], e.ped.pollen[i]
		key := [2]int32{min(s, p), max(s, p)}
		if families[key] == nil {
			families[key] = &sibs{parents: key, told: slices.Clone(none), to: [2][]float64{slices.Clone(none), slices.Clone(none)}}
			order = append(order, families[key])
		}
		families[key].of = append(families[key].of, i)
	}
	slices.SortStableFunc(order, func(a, b *sibs) int { return cmp.Compare(a.parents[1], b.parents[1]) }) // parents' families first
	// parent returns the error covariance of a family's parent, from everything but the family.
	parent := func(f *sibs, k int) []float64 { return inverse(plus(at(all, f.parents[k]), -1, f.to[k])) }
	down := func() {
		for _, f := range order {
			mean := parent(f, 1)
			if f.parents[0] != f.parents[1] {
				mean = plus(plus(none, 0.25, mean), 0.25, parent(f, 0))
			}
			told := plus(inverse(mean), 1, f.told)
			for _, i := range f.of {
				m, _ := e.mendel(i)
				prior := plus(inverse(plus(told, -1, at(alone, i))), m.d, e.par.Additive)
				copy(at(all, i), plus(inverse(prior), 1, at(below, i)))
			}
		}
	}
	down()
	for range 3 {
		for _, f := range slices.Backward(order) {
			clear(f.told)
			for _, i := range f.of {
				m, _ := e.mendel(i)
				if own, _, ok := invert(at(below, i), t); ok {
					copy(at(alone, i), inverse(plus(own, m.d, e.par.Additive)))
				}
				addTo(f.told, 1, at(alone, i))
			}
			to := [2][]float64{none, none}
			if f.parents[0] == f.parents[1] {
				to[1] = f.told
			} else if mean, _, ok := invert(f.told, t); ok {
				for k := range to {
					to[k] = plus(none, 0.25, inverse(plus(mean, 0.25, parent(f, 1-k))))
				}
			}
			for k, i := range f.parents {
				if int(i) >= e.ped.groups {
					change := plus(to[k], -1, f.to[k])
					addTo(at(below, i), 1, change)
					addTo(at(all, i), 1, change)
					copy(f.to[k], to[k])
				}
			}
		}
		down()
	}
	for i := range int32(n) {
		copy(at(all, i), inverse(at(all, i)))
		for _, f := range e.rec.Effects {
			if f.Var != nil && e.par.Group != nil {
				addTo(at(all, i), 1/float64(f.Levels), f.Var)
			}
		}
	}
	return all
}
