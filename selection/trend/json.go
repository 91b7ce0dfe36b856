package trend

import (
	"math"

	"hueward/selection"
	"hueward/selection/space"
)

// JSON is what "trend --json" prints. Programs rely on it: keys may be added, none
// renamed or removed.
type JSON struct {
	Line                 string               `json:"line"`
	Target               selection.TargetJSON `json:"target"`
	Seasons              []SeasonJSON         `json:"seasons"`             // never null
	ResponsePerSeason    *float64             `json:"response_per_season"` // Delta E nearer to the target; null: one season
	ResponseSE           *float64             `json:"response_per_season_se"`
	GeneticPerSeason     *float64             `json:"genetic_response_per_season"` // of what the plants pass on; null: not predicted
	RealisedHeritability *EstimateJSON        `json:"realised_heritability"`
	SeasonsToTarget      *AheadJSON           `json:"seasons_to_target"` // null: not at this pace
	Moving               bool                 `json:"moving"`
	Risk                 *float64             `json:"risk"` // of means so different by chance; null: cannot be told
	// What tells the line from weather: "check plants", "kin", "seasons", "" (nothing).
	ToldBy       string        `json:"told_by"`
	SeasonSD     *[3]float64   `json:"season_sd"` // by which seasons shift L*, a*, b*; null: not seen
	Heritability []AxisJSON    `json:"heritability"`
	OffTypes     []OffTypeJSON `json:"off_types"`
	EWMA         *EWMAJSON     `json:"ewma"`
	Assumed      []string      `json:"assumed"`
	Warnings     []string      `json:"warnings"`
}

// SeasonJSON is one season.
type SeasonJSON struct {
	Season       string      `json:"season"`
	Plants       int         `json:"plants"`
	MeanLab      [3]float64  `json:"mean_lab"`
	DeltaE       float64     `json:"delta_e"`
	DeltaELow    float64     `json:"delta_e_low"`
	DeltaEHigh   float64     `json:"delta_e_high"`
	SE           float64     `json:"se"`
	Parents      int         `json:"parents"`
	Differential *[3]float64 `json:"selection_differential"`
	Response     *[3]float64 `json:"response"`
	ValueLab     *[3]float64 `json:"mean_value_lab"`
	CheckLab     *[3]float64 `json:"check_lab"`
	Shift        *[3]float64 `json:"season_shift"` // of the weather, against an ordinary season; null: not predicted
	ShiftSE      *[3]float64 `json:"season_shift_se"`
}

// EstimateJSON is a number and its standard error.
type EstimateJSON struct {
	Value float64  `json:"value"`
	SE    *float64 `json:"se"`
}

// AheadJSON is how many seasons are to go.
type AheadJSON struct {
	Value float64  `json:"value"`
	Low   float64  `json:"low"`
	High  *float64 `json:"high"` // null: it cannot be said
}

// AxisJSON is the heritability of one of L*, a*, b*, from all relatives and by parents
// and offspring alone.
type AxisJSON struct {
	Of              string        `json:"of"`
	Value           float64       `json:"value"`
	SE              *float64      `json:"se"`
	ParentOffspring *EstimateJSON `json:"parent_offspring"`
}

// OffTypeJSON is a plant that does not look like its line.
type OffTypeJSON struct {
	Plant     string     `json:"plant"`
	Lab       [3]float64 `json:"lab"`
	DeltaE    float64    `json:"delta_e"` // from the line's middle
	Direction string     `json:"direction"`
	Distance  float64    `json:"mahalanobis"`
	Risk      float64    `json:"risk"`
}

// EWMAJSON is the chart of a held line.
type EWMAJSON struct {
	Lambda float64      `json:"lambda"`
	Values [][3]float64 `json:"values"`
	Low    [3]float64   `json:"low"`
	High   [3]float64   `json:"high"`
	Out    bool         `json:"out"`
}

// number is v, or nil where it is none.
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
		Seasons: []SeasonJSON{}, OffTypes: []OffTypeJSON{}, Heritability: []AxisJSON{}, Moving: r.Moving, Risk: number(r.Risk),
		ToldBy: string(r.ToldBy), SeasonSD: r.SeasonSD, GeneticPerSeason: r.Genetic,
		Assumed: append([]string{}, r.Assumed...), Warnings: append([]string{}, r.Warnings...),
	}
	for _, s := range r.Seasons {
		j := SeasonJSON{
			Season: s.Season, Plants: s.Plants, MeanLab: space.Of(s.Mean), DeltaE: s.DeltaE, DeltaELow: s.Low, DeltaEHigh: s.High, SE: s.SE,
			Parents: s.Parents, Differential: s.Differential, Response: s.Response, Shift: s.Shift, ShiftSE: s.ShiftSE,
		}
		if s.Value != nil {
			v := space.Of(*s.Value)
			j.ValueLab = &v
		}
		if s.Check != nil {
			v := space.Of(*s.Check)
			j.CheckLab = &v
		}
		out.Seasons = append(out.Seasons, j)
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
	for _, o := range r.OffTypes {
		out.OffTypes = append(out.OffTypes, OffTypeJSON{o.Plant, space.Of(o.Lab), o.DeltaE, o.Direction, o.Distance, o.Risk})
	}
	if c := r.EWMA; c != nil {
		j := &EWMAJSON{Lambda: c.Lambda, Low: space.Of(c.Low), High: space.Of(c.High), Out: c.Out}
		for _, v := range c.Values {
			j.Values = append(j.Values, space.Of(v))
		}
		out.EWMA = j
	}
	return out
}
