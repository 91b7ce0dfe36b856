package selection

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"hueward/selection/genetics"
)

// Trait is how a trait beside colour counts in a ranking.
type Trait struct {
	Name  string
	Score map[string]float64 // newest score of each plant by id, of all seasons, relatives included
	// Least and Most bound the scores of plants that may be kept; nil: no bound.
	Least, Most *float64
	// Weight is how many Delta E nearer a plant counts if its breeding value is one
	// phenotypic standard deviation better; 0: the trait has no weight.
	Weight float64
	Less   bool // less is better
}

// TraitValue is what is known of a weighted trait.
type TraitValue struct {
	Heritability Estimate
	SD           float64            // of plants' scores
	Value        map[string]float64 // breeding values by id, in SD from the mean; above 0 is better
}

// assumedTraitHeritability is the prior heritability of form, habit or stem length. A guess.
const assumedTraitHeritability = 0.3

// ErrNoScores is returned where a trait was scored on too few plants.
var ErrNoScores = errors.New("fewer than 3 plants are scored")

// PredictTrait predicts breeding values for one trait, with its own heritability, as [Predict] does for colour. It
// returns ErrNoScores for fewer than three scores, and no values where scores do not differ.
func PredictTrait(plants []genetics.Parents, t *Trait) (*TraitValue, error) {
	var ids []string
	for id := range t.Score {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, CompareIDs)
	ped, err := genetics.NewPedigree(plants)
	if err != nil {
		return nil, err
	}
	rec := &genetics.Records{Traits: 1}
	mean := 0.0
	for _, id := range ids {
		at, ok := ped.Place(id)
		if !ok {
			continue
		}
		rec.Plant, rec.Y = append(rec.Plant, at), append(rec.Y, t.Score[id])
		mean += t.Score[id]
	}
	n := len(rec.Y)
	if n < 3 {
		return nil, fmt.Errorf("trait %q: %w; score more, or leave its weight out", t.Name, ErrNoScores)
	}
	mean /= float64(n)
	ss := 0.0
	for _, y := range rec.Y {
		ss += (y - mean) * (y - mean)
	}
	out := &TraitValue{SD: math.Sqrt(ss / float64(n-1)), Value: map[string]float64{},
		Heritability: Estimate{assumedTraitHeritability, math.NaN()}}
	if out.SD < 1e-9 {
		return out, nil
	}
	rec.Effects = []genetics.Effect{{Levels: 1, Level: make([]int32, n)}}
	v := out.SD * out.SD
	prior := &genetics.Components{Additive: []float64{assumedTraitHeritability * v}, Residual: []float64{(1 - assumedTraitHeritability) * v}}
	fit, err := genetics.FitComponents(ped, rec, &genetics.FitOptions{Prior: prior, PriorWeight: priorPlants})
	if err != nil {
		return nil, err
	}
	out.Heritability.Value, out.Heritability.SE = fit.Heritability(0)
	e, err := genetics.Evaluate(ped, rec, &fit.Components, nil)
	if err != nil {
		return nil, err
	}
	sign := 1.0
	if t.Less {
		sign = -1
	}
	for i := int32(ped.Groups()); int(i) < ped.Len(); i++ {
		out.Value[ped.ID(i)] = sign * e.Value(i)[0] / out.SD
	}
	return out, nil
}

// lacks returns the must-haves that a plant fails, in words; empty: none. A plant that was not scored fails none.
func lacks(plant string, traits []Trait) string {
	var out []string
	for _, t := range traits {
		score, ok := t.Score[plant]
		switch {
		case !ok:
		case t.Least != nil && score < *t.Least:
			out = append(out, fmt.Sprintf("%s %v, and %v at least is wanted", t.Name, score, *t.Least))
		case t.Most != nil && score > *t.Most:
			out = append(out, fmt.Sprintf("%s %v, and %v at most is wanted", t.Name, score, *t.Most))
		}
	}
	return strings.Join(out, "; ")
}

// unscored returns the names of the must-have traits for which a plant has no score.
func unscored(plant string, traits []Trait) []string {
	var out []string
	for _, t := range traits {
		if _, ok := t.Score[plant]; !ok && (t.Least != nil || t.Most != nil) {
			out = append(out, t.Name)
		}
	}
	return out
}

// bonuses returns how many Delta E nearer each plant counts for its other traits.
func bonuses(traits []Trait, values []*TraitValue) map[string]float64 {
	out := map[string]float64{}
	for i, t := range traits {
		if v := values[i]; v != nil {
			for id, by := range v.Value {
				out[id] += t.Weight * by
			}
		}
	}
	return out
}

// weigh predicts the weighted traits, in the order of opt.Traits (nil: no weight), and adds to r.Assumed.
func (r *Ranking) weigh(opt *Options) ([]*TraitValue, error) {
	out := make([]*TraitValue, len(opt.Traits))
	for i := range opt.Traits {
		t := &opt.Traits[i]
		if t.Weight == 0 {
			continue
		}
		v, err := PredictTrait(opt.Pedigree, t)
		if err != nil {
			return nil, err
		}
		out[i] = v
		better := "more"
		if t.Less {
			better = "less"
		}
		r.Assumed = append(r.Assumed, fmt.Sprintf(
			"%s: a plant that passes on one standard deviation (%.2g) %s counts as %.2g Delta E nearer; its heritability is guessed as %.1f, "+
				"which counts as %.0f plants; with the scores it is %.2f",
			t.Name, v.SD, better, t.Weight, assumedTraitHeritability, priorPlants, v.Heritability.Value))
	}
	return out, nil
}

// bonusWords returns the words for a bonus of at least half a Delta E either way; else "".
func bonusWords(bonus float64) string {
	switch {
	case bonus >= 0.5:
		return fmt.Sprintf("; %.1f nearer for other traits", bonus)
	case bonus <= -0.5:
		return fmt.Sprintf("; %.1f farther for other traits", -bonus)
	}
	return ""
}

// tellTraits adds the effect of other traits to the plants' reasons.
func (r *Ranking) tellTraits(traits []Trait) {
	for i := range r.Plants {
		p := &r.Plants[i]
		p.Why += bonusWords(p.Bonus)
		if missing := unscored(p.ID, traits); len(missing) > 0 && p.Advice == Keep {
			p.Why += "; not scored for " + strings.Join(missing, ", ")
		}
	}
}
