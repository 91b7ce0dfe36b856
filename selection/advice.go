package selection

import (
	"fmt"
	"slices"
	"strings"

	"hueward/selection/written"
)

// worthAnother is the least chance of belonging to the kept at which a plant with a doubtful reading is held in reserve
// until it has been photographed again. A guess.
const worthAnother = 0.1

// advise says what to do with each plant, in order of rank: keep the nearest; hold as many again in reserve, and
// whatever else is within the tolerance; drop the others. A doubtful reading never costs a plant its place; it may put
// the plant in reserve until it has been photographed again.
func (r *Ranking) advise(v *Values, traits []Trait) {
	n := len(r.Plants)
	defer r.tellTraits(traits)
	for i := range r.Plants {
		p := &r.Plants[i]
		doubtful := p.Photos == p.Flagged && p.Photos == 1
		again, within := "", ""
		if away := p.Sorts + p.Bonus; away <= r.Target.Within {
			within = "within the tolerance, "
		}
		switch {
		case doubtful:
			again = "only one flagged photo: photograph it again"
		case p.Photos == p.Flagged:
			again = "all its photos are flagged: photograph it again"
		}
		switch {
		case p.Lacks != "":
			p.Advice, p.Why = Pass, p.Lacks
			continue
		case i < r.Keep:
			p.Advice, p.Why = Keep, nearest(r.Keep, n)
			if r.ByValue && n > 1 && r.Keep < n {
				p.Why += " by what it passes on"
			}
			p.Why = within + p.Why
		case i < 2*r.Keep:
			p.Advice, p.Why = Reserve, fmt.Sprintf("%s%s of %d, next after the %d kept", within, written.Ordinal(i+1), n, r.Keep)
		case within != "":
			p.Advice, p.Why = Reserve, fmt.Sprintf("%sbut %d others are nearer", within, i)
		case again != "" && p.ChanceKept >= worthAnother:
			p.Advice, p.Why = Reserve, fmt.Sprintf("%s of %d, but may belong among the nearest %d", written.Ordinal(i+1), n, r.Keep)
		default:
			p.Advice, p.Why = Pass, fmt.Sprintf("%s of %d", written.Ordinal(i+1), n)
		}
		if r.ByValue {
			if why := r.whyValue(v, p); why != "" {
				p.Why += "; " + why
			}
		}
		for _, c := range p.Carries {
			if c.Chance >= 0.2 {
				p.Why += fmt.Sprintf("; carries a hidden gene that makes flowers %s, with a chance of %.0f %%", c.Words, 100*c.Chance)
			}
		}
		if again != "" && p.Advice != Pass {
			p.Why += "; " + again
		}
	}
}

func nearest(k, n int) string {
	switch {
	case n == 1:
		return "the only plant measured"
	case k == n && n == 2:
		return "both plants are kept"
	case k == n:
		return fmt.Sprintf("all %d plants are kept", n)
	case k == 1:
		return fmt.Sprintf("nearest of %d", n)
	}
	return fmt.Sprintf("among the nearest %d of %d", k, n)
}

// Need fills in which of the chosen crosses need each plant. A plant that would have been dropped is held in reserve
// for its crosses, and its reason says so, so that ranking and pairs name the same plants.
func (r *Ranking) Need(chosen []Pair) {
	of := map[string][]string{}
	for i := range chosen {
		p := &chosen[i]
		of[p.SeedParent] = append(of[p.SeedParent], p.Words())
		if p.PollenParent != p.SeedParent {
			of[p.PollenParent] = append(of[p.PollenParent], p.Words())
		}
	}
	r.Unmeasured = slices.Clone(r.Unmeasured)
	for i := range r.Unmeasured { // a kept plant without a colour is predicted by its relatives
		if u := &r.Unmeasured[i]; len(of[u.ID]) > 0 {
			u.Why += ", but kept for " + crossWords(of[u.ID])
		}
	}
	for i := range r.Plants {
		p := &r.Plants[i]
		p.Crosses = of[p.ID]
		place, rest, more := strings.Cut(p.Why, "; ")
		switch {
		case len(p.Crosses) == 0 && p.Advice == Pass && p.Lacks == "" && !r.Held:
			if p.Why = place + ", and no cross needs it"; more {
				p.Why += "; " + rest
			}
			continue
		case len(p.Crosses) == 0 || p.Advice == Keep:
			continue
		}
		if p.Advice == Pass {
			place = fmt.Sprintf("%s of %d", written.Ordinal(p.Rank), len(r.Plants))
		}
		p.Advice, p.Why = Reserve, place+", held for "+crossWords(p.Crosses)
		if more {
			p.Why += "; " + rest
		}
	}
}

// crossWords returns "the cross A × B" or "the crosses A × B and A × C".
func crossWords(crosses []string) string {
	if len(crosses) > 1 {
		return "the crosses " + written.List(crosses)
	}
	return "the cross " + written.List(crosses)
}
