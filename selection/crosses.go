package selection

import (
	"cmp"
	"slices"

	"hueward/selection/mating"
)

// usualCrosses is how many crosses are chosen together where nobody asks for others.
const usualCrosses = 6

// usualUses is in how many of them one plant may be.
const usualUses = 3

// usualLimit is by how much they may add to the coancestry of a line that is moved, as a share of what is left to lose.
const usualLimit = 0.1

// spareCost is by how much nearer a cross must be that needs a plant which the ranking would drop, in Delta E. A guess.
const spareCost = 0.25

// worth are those of the pairs, best first, that are worth a bed; those that need a plant which would be
// dropped stand behind what they cost. Of a held line it is all of them.
func (f *pairing) worth(all []mating.Crossing) []mating.Crossing {
	if f.opt.Hold {
		return all
	}
	out := mating.WorthABed(slices.Clone(all))
	for k := range out {
		p := &out[k]
		for k, i := range p.Places {
			if f.opt.Spare[f.candidates[i].id] && (k == 0 || i != p.Places[0]) {
				p.Cost += spareCost
			}
		}
	}
	slices.SortFunc(out, mating.ByWorth)
	return out
}

// listed are the pairs but for those of a spare plant that no chosen cross needs.
func (f *pairing) listed(all, chosen []mating.Crossing) []mating.Crossing {
	if len(f.opt.Spare) == 0 {
		return all
	}
	needed := map[int]bool{}
	for _, p := range chosen {
		needed[p.Places[0]], needed[p.Places[1]] = true, true
	}
	out := make([]mating.Crossing, 0, len(all))
	for _, p := range all {
		spare := false
		for _, i := range p.Places {
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

// choose picks the set of crosses.
func (f *pairing) choose(all []mating.Crossing) (chosen []mating.Crossing, gain float64) {
	s := &mating.Set{Coancestry: f.coancestry, Mean: f.mean, Limit: f.limit(), Most: cmp.Or(max(f.opt.MostUses, 0), usualUses),
		Plants: max(f.opt.MostPlants, 0)}
	s.Choose(all, cmp.Or(max(f.opt.Crosses, 0), usualCrosses))
	return s.Crosses, s.Gain()
}
