package selection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/drift"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// A held line is not moved: all plants that are true to it are kept, and the others taken
// out, since a variety that is kept from its few best is changed and becomes inbred.
//
// True is what lies within the tolerance; of a line that as a whole has left it, what lies within the tolerance of the
// line's own middle, so that one season's weather or another phone does not empty the bed. A plant that its photos may
// put on either side is held in reserve, and so is one that is within the tolerance but unlike all others.

// surelyOff is the chance to be true below which a plant that was read outside the tolerance is dropped. A guess.
const surelyOff = 0.05

// holding is how the plants of a held line are judged.
type holding struct {
	ref  cie.Lab   // what they are held to
	refs []cie.Lab // the same, drawn over what is not known of the line's middle
	own  bool      // that is the line's own middle
	away []float64
	odd  map[string]bool // unlike the others: see [drift.OffTypes]
}

func (r *Ranking) holding(groups []*group) *holding {
	h := &holding{ref: r.Target.Lab, odd: map[string]bool{}}
	var middle, unsure space.Vector
	n := float64(len(groups))
	readings := make([]drift.Reading, len(groups))
	for k := range middle {
		var v []float64
		for i, g := range groups {
			readings[i] = drift.Reading{Color: g.mean, Cov: g.cov}
			v = append(v, g.mean[k])
		}
		middle[k] = drift.Middle(v)
		for i := range v {
			v[i] = math.Abs(v[i] - middle[k])
		}
		slices.Sort(v)
		unsure[k] = 1.4826 * v[len(v)/2] * math.Sqrt(math.Pi/2/n) // the standard error of a median
	}
	rnd := rand.New(rand.NewPCG(0, 2))
	for range heldDraws {
		m := space.Lab(space.Vector{middle[0] + unsure[0]*rnd.NormFloat64(), middle[1] + unsure[1]*rnd.NormFloat64(),
			middle[2] + unsure[2]*rnd.NormFloat64()})
		if len(groups) < 3 || cie.DeltaE2000(m, r.Target.Lab) <= r.Target.Within {
			m = r.Target.Lab
		}
		h.refs = append(h.refs, m)
	}
	if d := cie.DeltaE2000(space.Lab(middle), r.Target.Lab); d > r.Target.Within && len(groups) > 2 {
		h.ref, h.own = space.Lab(middle), true
		r.Warnings = append(r.Warnings, fmt.Sprintf("the line as a whole lies Delta E %.1f from its target: plants are held to its own middle "+
			"here; \"trend\" says whether it drifts", d))
	}
	odd, _ := drift.OffTypes(readings)
	for _, o := range odd {
		h.odd[groups[o.At].id] = true
	}
	for _, g := range groups {
		h.away = append(h.away, cie.DeltaE2000(space.Lab(g.mean), h.ref))
	}
	return h
}

// heldDraws is how many draws a held plant's chance is counted by.
const heldDraws = 1000

// chances are those of each plant to be within the tolerance, by its own photos and what is known of
// the line's middle, which decides what it is held to.
func (h *holding) chances(groups []*group, within float64, seed uint64) []float64 {
	out := make([]float64, len(groups))
	genetics.SideBySide(len(groups), func(i int) {
		root, rnd := space.Root(groups[i].cov), rand.New(rand.NewPCG(seed, 0))
		for _, ref := range h.refs {
			z := space.Vector{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}
			if cie.DeltaE2000(space.Lab(space.Plus(groups[i].mean, space.Apply(root, z))), ref) <= within {
				out[i] += 1.0 / heldDraws
			}
		}
		out[i] = min(out[i], 1)
	})
	return out
}

// adviseHeld says what to do with each plant of a held line; r.Keep becomes how many are
// kept, most at most; 0: any number.
func (r *Ranking) adviseHeld(h *holding, groups []*group, most int, traits []Trait) {
	away := map[string]float64{}
	for i, g := range groups {
		away[g.id] = h.away[i]
	}
	than, is := "the target", "true"
	if h.own {
		than, is = "the line's middle", "true to the line's middle"
	}
	r.Keep = 0
	for i := range r.Plants {
		p := &r.Plants[i]
		direction := cie.Direction(p.Lab, h.ref)
		p.True = away[p.ID] <= r.Target.Within
		switch {
		case p.Lacks != "":
			p.Advice, p.Why = Pass, p.Lacks
		case p.True && h.odd[p.ID]:
			p.Advice, p.Why = Reserve, is+", but unlike all others: "+direction+" than "+than+"; look at it"
		case p.True && most > 0 && r.Keep >= most:
			p.Advice, p.Why = Reserve, fmt.Sprintf("%s, and %d others are nearer", is, r.Keep)
		case p.True:
			p.Advice, p.Why = Keep, is
			r.Keep++
		case p.ChanceKept >= surelyOff:
			p.Advice, p.Why = Reserve, fmt.Sprintf("%s than %s, but may be true: photograph it again", direction, than)
		default:
			p.Advice, p.Why = Pass, fmt.Sprintf("off-type: %s than %s; take it out before its pollen flies", direction, than)
		}
		if p.Photos == p.Flagged && p.Advice == Keep {
			p.Why += "; all its photos are flagged: photograph it again"
		}
	}
	r.tellTraits(traits)
}
