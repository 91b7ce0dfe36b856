package selection

import (
	"cmp"
	"slices"

	"hueward/selection/mating"
)

// usualCrosses is the default of [PairOptions].Crosses.
const usualCrosses = 6

// usualUses is the default of [PairOptions].MostUses.
const usualUses = 3

// usualLimit is the default of [PairOptions].MostInbreeding for a line that is moved. These three defaults are guesses.
const usualLimit = 0.1

// spareCost is how much nearer a cross must be, in Delta E, for each plant of it that the ranking would drop. A guess.
const spareCost = 0.25

// worth returns the pairs that are worth a bed, best first; a pair that needs plants which the ranking would drop is
// charged spareCost for each. For a held line it returns all pairs.
func (f *pairing) worth(all []mating.Crossing) []mating.Crossing {
	if f.opt.Hold {
		return all
	}
	out := mating.WorthABed(slices.Clone(all))
	for k := range out {
		p := &out[k]
		for parent, i := range p.Places {
			if f.opt.Spare[f.candidates[i].id] && (parent == 0 || i != p.Places[0]) { // a selfed plant counts once
				p.Cost += spareCost
			}
		}
	}
	slices.SortFunc(out, mating.ByWorth)
	return out
}

// listed returns all pairs except those of a spare plant that no chosen cross needs.
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

// choose picks the set of crosses from all, and returns it with the coancestry that it adds.
func (f *pairing) choose(all []mating.Crossing) (chosen []mating.Crossing, gain float64) {
	s := &mating.Set{Coancestry: f.coancestry, Mean: f.mean, Limit: f.limit(), Most: cmp.Or(max(f.opt.MostUses, 0), usualUses),
		Plants: max(f.opt.MostPlants, 0)}
	s.Choose(all, cmp.Or(max(f.opt.Crosses, 0), usualCrosses))
	return s.Crosses, s.Gain()
}
