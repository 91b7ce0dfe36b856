package selection

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/sample"
	"hueward/selection/space"
)

// Rank orders the plants by their distance to the target, says how certain that is, and advises which to keep. Given
// Options.Values, and where a parent is known, the distance is that of the breeding value, else that of the plant's own
// colour; for a held line it is always the latter. The order of the observations does not matter. Plants with only refused
// readings, and those of Options.Plants without any, are listed as unmeasured.
//
// It returns an error for a target or an observation with a number that is no colour or
// tolerance, for a trait that cannot be weighted, and ErrNoColors when no plant has a colour.
func Rank(target Target, obs []Observation, opt *Options) (*Ranking, error) {
	if opt == nil {
		opt = &Options{}
	}
	t, err := target.Check()
	if err != nil {
		return nil, err
	}
	if opt.Keep < 0 {
		return nil, fmt.Errorf("keep %d plants: give a number above 0", opt.Keep)
	}
	groups, err := gather(obs)
	if err != nil {
		return nil, err
	}
	r := &Ranking{Target: t, Held: opt.Hold, Assumed: []string{}, Warnings: []string{}}
	r.Unmeasured = unmeasured(groups, opt.Plants)
	groups = slices.DeleteFunc(groups, func(g *group) bool { return len(g.photos) == 0 })
	if len(groups) == 0 {
		return nil, ErrNoColors
	}

	w, df := pool(groups)
	r.Photo, r.Between = w, between(groups)
	if r.Keep = min(len(groups), opt.Keep); opt.Keep == 0 {
		r.Keep = min(len(groups), max(2, (len(groups)+3)/4))
	}
	var known []posterior
	if !opt.Hold {
		known = r.useValues(opt.Values, groups)
	}
	if known == nil {
		known = shrink(groups, r.Between)
	}
	traits, err := r.weigh(opt)
	if err != nil {
		return nil, err
	}
	r.Bonuses = bonuses(opt.Traits, traits)
	bonus := make([]float64, len(groups))
	for i, g := range groups {
		if bonus[i] = r.Bonuses[g.id]; lacks(g.id, opt.Traits) != "" {
			bonus[i] = math.Inf(-1) // out of the choice
		}
	}
	var held *holding
	var kept []float64
	if opt.Hold {
		held = r.holding(groups)
		kept = held.chances(groups, t.Within, opt.Seed)
	} else {
		kept = chances(known, bonus, t.Lab, r.Keep, cmp.Or(max(opt.Draws, 0), defaultDraws), opt.Seed)
	}
	r.Plants = make([]Plant, len(groups))
	wide := space.Widening(df + priorPhotos)
	genetics.SideBySide(len(groups), func(i int) {
		g, p := groups[i], &r.Plants[i]
		*p = judge(g, t, wide, kept[i])
		if p.Lacks = lacks(g.id, opt.Traits); p.Lacks == "" {
			p.Bonus = bonus[i]
		} else {
			p.ChanceKept = 0
		}
	})
	// Groups are in natural order of id, which so decides ties.
	if opt.Values != nil {
		r.fillValues(opt.Values, known)
	}
	for i := range r.Plants {
		p := &r.Plants[i]
		if p.Sorts = p.DeltaE - p.Bonus; r.ByValue {
			p.Sorts = p.ValueDeltaE - p.Bonus
		}
	}
	slices.SortStableFunc(r.Plants, func(a, b Plant) int {
		switch {
		case a.Lacks != "" && b.Lacks == "":
			return 1
		case a.Lacks == "" && b.Lacks != "":
			return -1
		}
		return cmp.Compare(a.Sorts, b.Sorts)
	})
	for i := range r.Plants {
		r.Plants[i].Rank = i + 1
	}
	r.repeat(groups)
	if held != nil {
		r.adviseHeld(held, groups, opt.Keep, opt.Traits)
	} else {
		r.advise(opt.Values, opt.Traits)
	}
	r.assume(groups, df, target, opt)
	r.warn(groups)
	return r, nil
}

// ErrNoColors is returned where no plant has a colour, so that nothing can be ranked.
var ErrNoColors = errors.New("no plant has a colour yet; measure photos first")

// gather groups observations by plant, in natural order of id. A plant's photos are sorted by
// their content, so that the order of the observations does not matter.
func gather(obs []Observation) ([]*group, error) {
	byID := map[string]*group{}
	var groups []*group
	for _, o := range obs {
		if err := o.check(); err != nil {
			return nil, err
		}
		g := byID[o.Plant]
		if g == nil {
			g = &group{id: o.Plant}
			byID[o.Plant] = g
			groups = append(groups, g)
		}
		if o.Refused {
			g.refused++
			g.reason = max(g.reason, o.Reason) // not the first, as the order must not matter
			continue
		}
		p := photo{Observation: o, y: space.Of(o.Lab), k: 1}
		for i, e := range o.SE {
			p.s[i] = e * e
		}
		switch {
		case o.NoCard:
			p.k = noCardK
		case o.Check:
			p.k = flaggedK
		}
		if p.k > 1 {
			g.flagged++
		}
		g.photos = append(g.photos, p)
	}
	slices.SortFunc(groups, func(a, b *group) int { return CompareIDs(a.id, b.id) })
	for _, g := range groups {
		slices.SortFunc(g.photos, func(a, b photo) int {
			return cmp.Or(CompareIDs(a.Photo, b.Photo),
				slices.Compare(a.y[:], b.y[:]), slices.Compare(a.s[:], b.s[:]), cmp.Compare(a.k, b.k))
		})
	}
	return groups, nil
}

func unmeasured(groups []*group, more []string) []Unmeasured {
	out := []Unmeasured{}
	seen := map[string]bool{}
	for _, g := range groups {
		seen[g.id] = true
		if len(g.photos) == 0 {
			why := "its photo was refused"
			if g.refused > 1 {
				why = fmt.Sprintf("its %d photos were refused", g.refused)
			}
			if g.reason != "" {
				why += ": " + g.reason
			}
			out = append(out, Unmeasured{g.id, g.refused, why})
		}
	}
	for _, id := range more {
		if !seen[id] {
			seen[id] = true
			out = append(out, Unmeasured{ID: id, Why: "no photo"})
		}
	}
	slices.SortFunc(out, func(a, b Unmeasured) int { return CompareIDs(a.ID, b.ID) })
	return out
}

// judge returns what a plant's own photos say of it; wide is [space.Widening] of the covariances' degrees of freedom.
func judge(g *group, t Target, wide, chance float64) Plant {
	p := Plant{
		ID: g.id, Lab: space.Lab(g.mean), Cov: g.cov,
		Photos: len(g.photos), Flagged: g.flagged, Refused: g.refused,
		Direction: cie.Direction(space.Lab(g.mean), t.Lab), ChanceKept: chance,
	}
	p.DeltaE = cie.DeltaE2000(p.Lab, t.Lab)
	p.Low, p.High = space.Interval(g.mean, space.Of(t.Lab), p.DeltaE, g.cov, wide)
	p.Within = p.DeltaE <= t.Within
	p.Precision = math.Sqrt(space.Trace(space.Mul(space.Metric(g.mean), g.cov)))
	for _, o := range g.photos {
		p.Trueness = max(p.Trueness, o.Trueness)
		if o.odd {
			p.Disagreeing = append(p.Disagreeing, o.Photo)
		}
	}
	return p
}

// repeat fills in the repeatability of one photo. Photos without a card count only where no photo
// has one, as the next photo is expected to have a card.
func (r *Ranking) repeat(groups []*group) {
	of := [4]string{space.Axes[0], space.Axes[1], space.Axes[2], "distance"}
	carded := 0
	for _, g := range groups {
		for _, p := range g.photos {
			if !p.NoCard {
				carded++
			}
		}
	}
	for i := range of {
		var values [][]float64
		for _, g := range groups {
			var v []float64
			for _, p := range g.photos {
				switch {
				case p.NoCard && carded > 0:
				case i < 3:
					v = append(v, p.y[i])
				default:
					v = append(v, cie.DeltaE2000(p.Lab, r.Target.Lab))
				}
			}
			values = append(values, v)
		}
		q := sample.Repeatability(values)
		q.Of = of[i]
		if !q.Known {
			q.Value = r.assumedRepeatability(i)
		}
		r.Repeatability[i] = q
	}
}

// assumedRepeatability returns the repeatability that follows from the assumed scatter
// on axis i; for the distance, i = 3, it takes the three axes together.
func (r *Ranking) assumedRepeatability(i int) float64 {
	b, w := space.Trace(r.Between), space.Trace(r.Photo)
	if i < 3 {
		b, w = r.Between[i][i], r.Photo[i][i]
	}
	if !(b+w > 0) {
		return 0
	}
	return b / (b + w)
}
