package selection

import (
	"cmp"
	"slices"

	"hueward/selection/genetics"
)

// Variance components are estimated from the offspring of at most mostParents parents, as the work grows with the third
// power of that number, unless that would leave fewer than leastFitted records.
const (
	mostParents = 250
	leastFitted = 800
)

// fitted returns the records that variance components are estimated from: the newest ones, at most most of them. Where
// these have too many parents, it keeps the offspring of the parents with the most offspring.
func fitted(records []Record, seasons []string, most int, ped *genetics.Pedigree) []Record {
	some := newest(records, seasons, most)
	offspring := map[int32]int{}
	parents := func(r *Record) []int32 {
		at, ok := ped.Place(r.Plant)
		if !ok || ped.Founder(at) {
			return nil
		}
		seed, pollen := ped.Parents(at)
		return []int32{seed, pollen}
	}
	for i := range some {
		for _, p := range parents(&some[i]) {
			offspring[p]++
		}
	}
	if len(offspring) <= mostParents {
		return some
	}
	var order []int32
	for p := range offspring {
		order = append(order, p)
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(offspring[b], offspring[a]), cmp.Compare(a, b)) })
	in := map[int32]bool{}
	for _, p := range order[:mostParents] {
		in[p] = true
	}
	fewer := slices.DeleteFunc(slices.Clone(some), func(r Record) bool {
		return slices.ContainsFunc(parents(&r), func(p int32) bool { return !in[p] })
	})
	if len(fewer) < leastFitted {
		return some
	}
	return fewer
}
