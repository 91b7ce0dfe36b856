package selection

import (
	"fmt"
	"hueward/colorimg/cie"
)

// worthAnother is the chance of belonging to the kept from which a plant with
// a doubtful reading is not passed by before it has been photographed again. A
// guess.
const worthAnother = 0.1

// advise says what to do with each plant, in order of rank: keep the nearest;
// hold as many again in reserve, and whatever else is within the tolerance;
// pass the others by. A doubt never costs a plant its place; it may gain one a
// reserve until it has been photographed again.
func (r *Ranking) advise(v *Values, traits []Trait) {
	n := len(r.Plants)
	defer r.tellTraits(traits)
	for i := range r.Plants {
		p := &r.Plants[i]
		doubtful := p.Photos == p.Flagged && p.Photos == 1
		again, direction := "", p.Direction
		if r.ByValue {
			direction = cie.Direction(p.Value.Lab, r.Target.Lab)
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
				p.Why = fmt.Sprintf("its offspring are predicted among the nearest %d of %d", r.Keep, n)
				if r.Keep == 1 {
					p.Why = fmt.Sprintf("its offspring are predicted nearest of %d", n)
				}
			}
			if p.Within {
				p.Why = "within tolerance, " + p.Why
			}
		case i < 2*r.Keep:
			p.Advice, p.Why = Reserve, fmt.Sprintf("%s of %d, next after the %d kept", ordinal(i+1), n, r.Keep)
			if p.Within {
				p.Why = "within tolerance, " + p.Why
			}
		case p.Within:
			p.Advice, p.Why = Reserve, fmt.Sprintf("within tolerance, but %d others are nearer", i)
		case again != "" && p.ChanceKept >= worthAnother:
			p.Advice, p.Why = Reserve, fmt.Sprintf("%s of %d, but may belong among the nearest %d", ordinal(i+1), n, r.Keep)
		default:
			p.Advice, p.Why = Pass, fmt.Sprintf("%s of %d, %s than the target", ordinal(i+1), n, direction)
			if direction == cie.OnTarget {
				p.Why = fmt.Sprintf("%s of %d, others are nearer", ordinal(i+1), n)
			}
		}
		if r.ByValue {
			if why := r.whyValue(v, p); why != "" {
				p.Why += "; " + why
			}
		}
		for _, c := range p.Carries {
			if c.Chance >= 0.2 {
				p.Why += fmt.Sprintf("; carries a form that makes flowers %s, hidden, with a chance of %.2f", c.Words, c.Chance)
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
	case k == n:
		return fmt.Sprintf("all %d plants are kept", n)
	case k == 1:
		return fmt.Sprintf("nearest of %d", n)
	}
	return fmt.Sprintf("nearest %d of %d", k, n)
}

// ordinal is 1st, 2nd, 3rd …
func ordinal(n int) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, suffix)
}
