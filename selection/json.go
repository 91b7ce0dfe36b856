package selection

import (
	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// RankJSON is what "rank --json" prints. Programs rely on it: keys may be added, none renamed or removed.
type RankJSON struct {
	Line          string       `json:"line"`
	Season        string       `json:"season"`
	Target        TargetJSON   `json:"target"`
	Keep          int          `json:"keep"`
	RankedBy      string       `json:"ranked_by"` // "offspring": by value_delta_e; "own colour": by delta_e
	Plants        []PlantJSON  `json:"plants"`    // in order of rank; never null
	Unmeasured    []Unmeasured `json:"unmeasured"`
	LeftOut       []LeftOut    `json:"left_out"` // measured, but no candidates; never null
	Repeatability []RepeatJSON `json:"repeatability"`
	Assumed       []string     `json:"assumed"`
	Warnings      []string     `json:"warnings"`
}

// TargetJSON is the target that plants were ranked by.
type TargetJSON struct {
	Lab    [3]float64  `json:"lab"`
	Within float64     `json:"within"`
	Source string      `json:"source"`
	Second *[3]float64 `json:"second"` // shade of the second colour; null: none is set
}

// PlantJSON is one plant of the ranking.
type PlantJSON struct {
	Plant       string      `json:"plant"`
	Rank        int         `json:"rank"`
	Lab         [3]float64  `json:"lab"`
	DeltaE      float64     `json:"delta_e"`
	DeltaELow   float64     `json:"delta_e_low"`
	DeltaEHigh  float64     `json:"delta_e_high"`
	Direction   string      `json:"direction"`
	Photos      int         `json:"photos"`
	ValueLab    *[3]float64 `json:"value_lab"`     // breeding value; null: not computed
	ValueDeltaE *float64    `json:"value_delta_e"` // its distance; null: not computed
	ValueLow    *float64    `json:"value_delta_e_low"`
	ValueHigh   *float64    `json:"value_delta_e_high"`
	ValueWords  *string     `json:"value_direction"` // from the target to value_lab; these three null: not ranked by it
	Bonus       float64     `json:"bonus"`           // Delta E by which its other traits bring it nearer
	// Sorts is the number that plants are ranked by: value_delta_e or delta_e, see ranked_by, less bonus.
	Sorts       float64     `json:"sorted_by"`
	Crosses     []string    `json:"crosses"` // recommended crosses that need it; never null
	Advice      Advice      `json:"advice"`
	ChanceKept  float64     `json:"chance_kept"`
	Inbreeding  *float64    `json:"inbreeding"`  // null: no pedigree
	Reliability *[3]float64 `json:"reliability"` // of value_lab, 0 to 1; null: not computed
	Why         string      `json:"why"`
	// SecondDeltaE is how far the second colour lies from the target's; null: it has none.
	SecondDeltaE *float64 `json:"second_delta_e"`
	// Carries are colours that the plant is likely to carry hidden; never null.
	Carries []CarriedJSON `json:"carries"`
}

// RepeatJSON is the repeatability of one number. Value is null where it could
// not be estimated; Assumed then holds the value used instead.
type RepeatJSON struct {
	Of      string   `json:"of"`
	Value   *float64 `json:"value"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Assumed *float64 `json:"assumed"`
	Plants  int      `json:"plants"`
	Photos  int      `json:"photos"`
}

// JSON returns r in the form that "rank --json" prints.
func (r *Ranking) JSON(line, season string) RankJSON {
	out := RankJSON{
		Line: line, Season: season, RankedBy: "own colour",
		Target:     TargetJSON{Lab: space.Of(r.Target.Lab), Within: r.Target.Within, Source: r.Target.Source},
		Keep:       r.Keep,
		Plants:     make([]PlantJSON, 0, len(r.Plants)),
		Unmeasured: append([]Unmeasured{}, r.Unmeasured...),
		LeftOut:    append([]LeftOut{}, r.LeftOut...),
		Assumed:    append([]string{}, r.Assumed...),
		Warnings:   append([]string{}, r.Warnings...),
	}
	if s := r.Target.Second; s != nil {
		v := space.Of(*s)
		out.Target.Second = &v
	}
	if r.ByValue {
		out.RankedBy = "offspring"
	}
	for _, p := range r.Plants {
		q := PlantJSON{
			Plant: p.ID, Rank: p.Rank, Lab: space.Of(p.Lab),
			DeltaE: p.DeltaE, DeltaELow: p.Low, DeltaEHigh: p.High,
			Direction: p.Direction, Photos: p.Photos,
			Advice: p.Advice, ChanceKept: p.ChanceKept, Why: p.Why, SecondDeltaE: p.SecondDeltaE,
			Bonus: p.Bonus, Sorts: p.Sorts, Crosses: append([]string{}, p.Crosses...),
		}
		if p.Value != nil {
			v := space.Of(p.Value.Lab)
			q.ValueLab, q.ValueDeltaE, q.Inbreeding, q.Reliability = &v, &p.ValueDeltaE, &p.Value.Inbreeding, &p.Value.Reliability
			if words := cie.Direction(p.Value.Lab, r.Target.Lab); r.ByValue {
				q.ValueLow, q.ValueHigh, q.ValueWords = &p.ValueLow, &p.ValueHigh, &words
			}
		}
		q.Carries = []CarriedJSON{}
		for _, c := range p.Carries {
			q.Carries = append(q.Carries, CarriedJSON{space.Of(c.Lab), c.Words, c.Chance})
		}
		out.Plants = append(out.Plants, q)
	}
	for _, q := range r.Repeatability {
		j := RepeatJSON{Of: q.Of, Plants: q.Plants, Photos: q.Photos}
		if q.Known {
			j.Value, j.Low, j.High = &q.Value, &q.Low, &q.High
		} else {
			j.Assumed = &q.Value
		}
		out.Repeatability = append(out.Repeatability, j)
	}
	return out
}
