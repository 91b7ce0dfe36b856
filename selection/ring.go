package selection

import (
	"slices"

	"hueward/selection/mating"
)

// ring pairs the plants of a held line in a ring: each is the seed parent of one cross and the
// pollen parent of another, so that all contribute equally to the next season. To keep near
// relatives apart, each plant is followed by the least related one that is left. Two plants are
// crossed once; a single one is selfed, unless NoSelfs.
//
// Source: equal contributions double the effective number of parents, Falconer and Mackay
// 1996, chapter 4; [genetics.ParentsToHold] counts on it.
func (f *pairing) ring(all []mating.Crossing) (chosen []mating.Crossing, gain float64) {
	n := len(f.candidates)
	merit := map[[2]int]float64{}
	for _, p := range all {
		merit[p.Places] = p.Merit
	}
	order := []int{0}
	for left := n - 1; left > 0; left-- {
		last, best := order[len(order)-1], -1
		for j := range n {
			if !slices.Contains(order, j) && (best < 0 || f.coancestry[last][j] < f.coancestry[last][best]) {
				best = j
			}
		}
		order = append(order, best)
	}
	for k, i := range order {
		j := order[(k+1)%n]
		if i == j && f.opt.NoSelfs || n == 2 && k == 1 {
			continue
		}
		chosen = append(chosen, mating.Crossing{Places: [2]int{i, j}, Merit: merit[[2]int{min(i, j), max(i, j)}]})
	}
	s := &mating.Set{Coancestry: f.coancestry, Mean: f.mean}
	s.Take(chosen)
	return chosen, s.Gain()
}
