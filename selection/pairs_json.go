package selection

import "hueward/selection/space"

// PairsJSON is what "pairs --json" prints. Programs rely on it: keys may be added, none renamed or removed.
type PairsJSON struct {
	Line       string     `json:"line"`
	Season     string     `json:"season"`
	Target     TargetJSON `json:"target"`
	Pairs      []PairJSON `json:"pairs"`  // best first; never null
	Chosen     []PairJSON `json:"chosen"` // crosses to make together; never null
	Inbreeding struct {
		Candidates float64 `json:"candidates"` // mean coancestry of the candidates
		Gain       float64 `json:"gain"`       // what the chosen crosses add, as a share of what is left
		Bred       float64 `json:"offspring"`  // mean inbreeding of the chosen crosses' offspring
		Parents    float64 `json:"parents"`    // and of their parents
	} `json:"coancestry"`
	Only     string     `json:"only"`  // which plants alone were paired; empty: all that grow
	Few      string     `json:"few"`   // why fewer crosses than asked for are chosen; empty: they are not
	Tests    []GeneTest `json:"tests"` // never null
	Assumed  []string   `json:"assumed"`
	Warnings []string   `json:"warnings"`
}

// PairJSON is one pair.
type PairJSON struct {
	SeedParent   string     `json:"seed_parent"`
	PollenParent string     `json:"pollen_parent"`
	Kind         Kind       `json:"kind"`
	MeanLab      [3]float64 `json:"mean_lab"`
	//lint:ignore ST1003 it is Delta E, of the mean
	DeltaEOfMean float64 `json:"delta_e_of_mean"`
	Distance     float64 `json:"expected_delta_e"` // of one offspring
	// Sorts is the number that pairs are ranked by, less bonus: expected_delta_e; where strong genes part the
	// offspring, a distance in which their own offspring count too.
	Sorts        float64 `json:"sorted_by"`
	Bonus        float64 `json:"bonus"` // Delta E by which the offspring's other traits bring them nearer
	ChanceWithin float64 `json:"chance_within"`
	BestOf       struct {
		N      int     `json:"n"`
		DeltaE float64 `json:"delta_e"`
	} `json:"best_of"`
	GrowFor95  *int    `json:"grow_for_95"` // seeds; null: no number would do
	Inbreeding float64 `json:"inbreeding"`
	Why        string  `json:"why"`
	// Classes are the colours that strong genes part the offspring into; null: none were found.
	Classes []ClassJSON `json:"classes"`
	// NextWithin is the chance within the tolerance of the offspring's offspring; null: as Classes.
	NextWithin *float64 `json:"f2_chance_within"`
}

// ClassJSON is a colour class of a pair's offspring.
type ClassJSON struct {
	Lab   [3]float64 `json:"lab"` // its mean
	Share float64    `json:"share"`
}

// CarriedJSON is a colour that a plant carries hidden.
type CarriedJSON struct {
	Lab    [3]float64 `json:"lab"`
	Words  string     `json:"differs"` // from what the plant shows
	Chance float64    `json:"chance"`
}

func (p *Pair) json() PairJSON {
	j := PairJSON{
		SeedParent: p.SeedParent, PollenParent: p.PollenParent, Kind: p.Kind, MeanLab: space.Of(p.Offspring.Mean),
		DeltaEOfMean: p.DeltaEOfMean, Distance: p.Predicted.Distance, ChanceWithin: p.Predicted.ChanceWithin, Inbreeding: p.Inbreeding,
		Why: p.Why, Sorts: p.Sorts, Bonus: p.Bonus,
	}
	j.BestOf.N, j.BestOf.DeltaE = p.Predicted.N, p.Predicted.Best
	for _, k := range p.Offspring.Kinds {
		j.Classes = append(j.Classes, ClassJSON{space.Plus(space.Of(p.Offspring.Mean), k.Shift), k.Share})
	}
	if p.Offspring.Kinds != nil {
		j.NextWithin = &p.Predicted.NextWithin
	}
	if n := p.Predicted.GrowFor95; n > 0 {
		j.GrowFor95 = &n
	}
	return j
}

// JSON returns r in the form that "pairs --json" prints.
func (r *Pairing) JSON(line, season string) PairsJSON {
	out := PairsJSON{
		Line: line, Season: season, Target: TargetJSON{Lab: space.Of(r.Target.Lab), Within: r.Target.Within, Source: r.Target.Source},
		Tests: append([]GeneTest{}, r.Tests...),
		Pairs: []PairJSON{}, Chosen: []PairJSON{}, Assumed: append([]string{}, r.Assumed...), Warnings: append([]string{}, r.Warnings...),
	}
	out.Inbreeding.Candidates, out.Inbreeding.Gain = r.Coancestry, r.Gain
	out.Inbreeding.Bred, out.Inbreeding.Parents, out.Only, out.Few = r.Bred, r.Parents, r.Only, r.Few
	for i := range r.Pairs {
		out.Pairs = append(out.Pairs, r.Pairs[i].json())
	}
	for i := range r.Chosen {
		out.Chosen = append(out.Chosen, r.Chosen[i].json())
	}
	return out
}
