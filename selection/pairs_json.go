package selection

// PairsJSON is what "pairs --json" prints. Programs rely on it: keys may be added, none
// renamed or removed.
type PairsJSON struct {
	Line       string     `json:"line"`
	Season     string     `json:"season"`
	Target     TargetJSON `json:"target"`
	Pairs      []PairJSON `json:"pairs"`  // best first; never null
	Chosen     []PairJSON `json:"chosen"` // crosses to make together; never null
	Inbreeding struct {
		Candidates float64 `json:"candidates"` // mean coancestry of the candidates
		Gain       float64 `json:"gain"`       // what the chosen crosses add, as a share of what is left
	} `json:"coancestry"`
	Assumed  []string `json:"assumed"`
	Warnings []string `json:"warnings"`
}

// PairJSON is one pair.
type PairJSON struct {
	SeedParent   string     `json:"seed_parent"`
	PollenParent string     `json:"pollen_parent"`
	Kind         Kind       `json:"kind"`
	MeanLab      [3]float64 `json:"mean_lab"`
	DeltaEOfMean float64    `json:"delta_e_of_mean"`
	Distance     float64    `json:"expected_delta_e"` // of one offspring; pairs are ranked by it
	ChanceWithin float64    `json:"chance_within"`
	BestOf       struct {
		N      int     `json:"n"`
		DeltaE float64 `json:"delta_e"`
	} `json:"best_of"`
	GrowFor95  *int    `json:"grow_for_95"` // seeds; null: no number would do
	Inbreeding float64 `json:"inbreeding"`
	Why        string  `json:"why"`
}

func (p *Pair) json() PairJSON {
	j := PairJSON{
		SeedParent: p.SeedParent, PollenParent: p.PollenParent, Kind: p.Kind, MeanLab: vec(p.Offspring.Mean),
		DeltaEOfMean: p.DeltaEOfMean, Distance: p.Predicted.Distance, ChanceWithin: p.Predicted.ChanceWithin, Inbreeding: p.Inbreeding, Why: p.Why,
	}
	j.BestOf.N, j.BestOf.DeltaE = p.Predicted.N, p.Predicted.Best
	if n := p.Predicted.GrowFor95; n > 0 {
		j.GrowFor95 = &n
	}
	return j
}

// JSON returns r in the form that "pairs --json" prints.
func (r *Pairing) JSON(line, season string) PairsJSON {
	out := PairsJSON{
		Line: line, Season: season, Target: TargetJSON{Lab: vec(r.Target.Lab), Within: r.Target.Within, Source: r.Target.Source},
		Pairs: []PairJSON{}, Chosen: []PairJSON{}, Assumed: append([]string{}, r.Assumed...), Warnings: append([]string{}, r.Warnings...),
	}
	out.Inbreeding.Candidates, out.Inbreeding.Gain = r.Coancestry, r.Gain
	for i := range r.Pairs {
		out.Pairs = append(out.Pairs, r.Pairs[i].json())
	}
	for i := range r.Chosen {
		out.Chosen = append(out.Chosen, r.Chosen[i].json())
	}
	return out
}
