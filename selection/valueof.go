package selection

import (
	"fmt"

	"hueward/colorimg/cie"
	"hueward/selection/draws"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Knows reports whether one of the plants has a known parent, so that relatives tell something of the plants' values.
func (v *Values) Knows(plants []string) bool {
	for _, id := range plants {
		if at, ok := v.Ped.Place(id); ok && !v.Ped.Founder(at) {
			return true
		}
	}
	return false
}

// useValues sets ByValue where plants are to be ranked by breeding value (see [Values.Knows]), and returns the posterior
// of each plant's value in the order of groups; nil: they are ranked by their own colours.
func (r *Ranking) useValues(v *Values, groups []*group) []posterior {
	if v == nil {
		return nil
	}
	var ids []string
	for _, g := range groups {
		ids = append(ids, g.id)
	}
	if !v.Knows(ids) {
		return nil
	}
	out := make([]posterior, len(groups))
	for i, id := range ids {
		value, ok := v.Of(id)
		if !ok {
			return nil
		}
		if out[i] = (posterior{mean: space.Of(value.Lab), cov: value.Cov}); v.Genes != nil {
			out[i] = v.geneValue(id)
		}
	}
	r.ByValue = true
	return out
}

// fillValues fills in the plants' breeding values; where they are ranked by these, known holds the
// posteriors in the plants' order.
func (r *Ranking) fillValues(v *Values, known []posterior) {
	points := draws.Mixed(intervalDraws)
	genetics.SideBySide(len(r.Plants), func(i int) {
		p := &r.Plants[i]
		value, ok := v.Of(p.ID)
		if !ok {
			return
		}
		p.Value = &value
		p.ValueDeltaE = cie.DeltaE2000(value.Lab, r.Target.Lab)
		if at, ok := v.Ped.Place(p.ID); ok && v.Genes != nil {
			p.ValueDeltaE = v.geneDistance(at, r.Target.Lab)
			p.Carries = v.Carries(p.ID)
		}
		p.ValueLow, p.ValueHigh = p.ValueDeltaE, p.ValueDeltaE
		if r.ByValue {
			p.ValueLow, p.ValueHigh = known[i].interval(r.Target.Lab, p.ValueDeltaE, points)
		}
	})
}

// worthTelling is the least difference between a plant's own distance and that of its value that is mentioned, in Delta E 2000.
const worthTelling = 1.0

// whyValue returns a sentence on how a plant's breeding value differs from its colour, and which
// parent explains it; empty for less than worthTelling.
func (r *Ranking) whyValue(v *Values, p *Plant) string {
	if p.Value == nil {
		return ""
	}
	by := p.ValueDeltaE - p.DeltaE
	if by > -worthTelling && by < worthTelling {
		return ""
	}
	where := "nearer"
	if by > 0 {
		where = "farther"
	}
	s := fmt.Sprintf("itself %.1f away, but its offspring are predicted %s, %.1f", p.DeltaE, where, p.ValueDeltaE)
	if because := v.because(p); because != "" {
		s += ", because " + because
	}
	return s
}

// because says which parent's family explains why a plant's value differs from its own colour.
func (v *Values) because(p *Plant) string {
	at, ok := v.Ped.Place(p.ID)
	if !ok {
		return ""
	}
	way := space.Minus(space.Of(p.Value.Lab), space.Of(p.Lab))
	seed, pollen := v.Ped.Parents(at)
	best, most, name := cie.Lab{}, 0.0, ""
	for _, parent := range [2]struct {
		at   int32
		name string
	}{{seed, "seed parent"}, {pollen, "pollen parent"}} {
		if int(parent.at) < v.Ped.Groups() {
			continue
		}
		var x space.Vector
		copy(x[:], v.eval.Value(parent.at))
		if d := space.Dot(space.Minus(x, space.Of(p.Lab)), way); d > most {
			best, most, name = space.Lab(x), d, parent.name
		}
	}
	switch words := cie.Direction(best, p.Lab); {
	case name == "" || words == cie.OnTarget:
		return "a plant's colour is only partly what it passes on"
	case seed == pollen:
		return fmt.Sprintf("its parent's family is %s", words)
	default:
		return fmt.Sprintf("its %s's family is %s", name, words)
	}
}
