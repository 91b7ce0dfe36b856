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
// A plant is true if it lies within the tolerance of the target; where the line as a whole has left that, within the
// tolerance of the line's own median, so that one season's weather or another phone does not empty the bed. A plant that
// may be true or not, by its photos, is held in reserve, and so is one within the tolerance but unlike all others.

// surelyOff is the chance of being true below which a plant that was measured outside the tolerance is dropped. A guess.
const surelyOff = 0.05

// holding is how the plants of a held line are judged.
type holding struct {
	ref  cie.Lab         // what they are held to
	refs []cie.Lab       // draws of ref over the error of the line's median
	own  bool            // ref is the line's own median, not the target
	away []float64       // distance of each group to ref, Delta E 2000
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
		unsure[k] = 1.4826 * v[len(v)/2] * math.Sqrt(math.Pi/2/n) // standard error of a median, by the median absolute deviation
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

// heldDraws is the number of draws from which a held plant's chance is counted.
const heldDraws = 1000

// chances returns each plant's chance of being within the tolerance, over the errors of its photos and
// of the line's median, which decides what the plants are held to.
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

// adviseHeld fills in the advice on each plant of a held line, and sets r.Keep to the number
// kept, which is at most most; most 0: any number.
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
