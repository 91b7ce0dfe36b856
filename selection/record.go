package selection

import (
	"maps"
	"slices"
)

// Records pools the observations of each season into a colour for each plant, as
// [Rank] does for one season; how photos of a plant scatter is estimated from
// all seasons together. Plants with refused readings only have no record.
func Records(seasons map[string][]Observation) ([]Record, error) {
	var all []*group
	var of []string // the season of each
	for _, season := range slices.SortedFunc(maps.Keys(seasons), CompareIDs) {
		groups, err := gather(seasons[season])
		if err != nil {
			return nil, err
		}
		for _, g := range groups {
			if len(g.photos) > 0 {
				all, of = append(all, g), append(of, season)
			}
		}
	}
	pool(all)
	out := make([]Record, len(all))
	for i, g := range all {
		out[i] = Record{Plant: g.id, Season: of[i], Lab: lab(g.mean), Cov: g.cov}
	}
	return out, nil
}
