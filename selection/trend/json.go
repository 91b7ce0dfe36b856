package trend

import (
	"math"

	"hueward/selection"
	"hueward/selection/drift"
	"hueward/selection/space"
)

// JSON is what "trend --json" prints. Programs rely on it: keys may be added, none renamed or removed.
type JSON struct {
	Line                 string               `json:"line"`
	Target               selection.TargetJSON `json:"target"`
	Seasons              []Season             `json:"seasons"`             // never null
	ResponsePerSeason    *float64             `json:"response_per_season"` // Delta E nearer to the target; null: one season
	ResponseSE           *float64             `json:"response_per_season_se"`
	GeneticPerSeason     *float64             `json:"genetic_response_per_season"` // of breeding values; null: not predicted
	RealisedHeritability *EstimateJSON        `json:"realised_heritability"`
	SeasonsToTarget      *AheadJSON           `json:"seasons_to_target"` // null: not at this pace
	Moving               bool                 `json:"moving"`
	Risk                 *float64             `json:"risk"` // the chance of a movement as large if the line stands; null: cannot be told
	// ToldBy is what the line's movement was separated from weather by: "check plants", "kin", "seasons", "" (nothing).
	ToldBy       string       `json:"told_by"`
	SeasonSD     *[3]float64  `json:"season_sd"` // standard deviation of season effects on L*, a*, b*; null: not known
	Heritability []AxisJSON   `json:"heritability"`
	OffTypes     []OffType    `json:"off_types"`
	EWMA         *drift.Chart `json:"ewma"`
	Assumed      []string     `json:"assumed"`
	Warnings     []string     `json:"warnings"`
}

// EstimateJSON is a number and its standard error.
type EstimateJSON struct {
	Value float64  `json:"value"`
	SE    *float64 `json:"se"`
}

// AheadJSON is how many seasons are left until the target, with a 95 % interval.
type AheadJSON struct {
	Value float64  `json:"value"`
	Low   float64  `json:"low"`
	High  *float64 `json:"high"` // null: no upper limit
}

// AxisJSON is the heritability of one of L*, a*, b*, from all relatives and by parents and offspring alone.
type AxisJSON struct {
	Of              string        `json:"of"`
	Value           float64       `json:"value"`
	SE              *float64      `json:"se"`
	ParentOffspring *EstimateJSON `json:"parent_offspring"`
}

// number returns v, or nil where it is infinite or NaN.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// JSON returns r in the form that "trend --json" prints.
func (r *Result) JSON(line string) JSON {
	out := JSON{
		Line: line, Target: selection.TargetJSON{Lab: space.Of(r.Target.Lab), Within: r.Target.Within, Source: r.Target.Source},
		Seasons: r.Seasons, OffTypes: append([]OffType{}, r.OffTypes...), EWMA: r.EWMA, Heritability: []AxisJSON{}, Moving: r.Moving,
		Risk: number(r.Risk), ToldBy: string(r.ToldBy), SeasonSD: r.SeasonSD, GeneticPerSeason: r.Genetic,
		Assumed: append([]string{}, r.Assumed...), Warnings: append([]string{}, r.Warnings...),
	}
	if p := r.ResponsePerSeason; p != nil {
		out.ResponsePerSeason, out.ResponseSE = &p.Value, number(p.SE)
	}
	if h := r.RealisedHeritability; h != nil {
		out.RealisedHeritability = &EstimateJSON{h.Value, number(h.SE)}
	}
	if a := r.SeasonsToTarget; a != nil {
		out.SeasonsToTarget = &AheadJSON{a.Value, a.Low, number(a.High)}
		if math.IsInf(a.Low, 1) {
			out.SeasonsToTarget.Low = a.Value
		}
	}
	for _, h := range r.Heritability {
		j := AxisJSON{Of: h.Of, Value: h.Value, SE: number(h.SE)}
		if number(h.ParentOffspring.Value) != nil {
			j.ParentOffspring = &EstimateJSON{h.ParentOffspring.Value, number(h.ParentOffspring.SE)}
		}
		out.Heritability = append(out.Heritability, j)
	}
	return out
}
