package selection

import (
	"maps"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// Records pools the observations of each season into a colour for each plant, as [Rank] does for one season; how photos
// of a plant scatter is estimated from all seasons together. Plants with refused readings only have no record.
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
		out[i] = Record{Plant: g.id, Season: of[i], Lab: space.Lab(g.mean), Cov: g.cov}
	}
	return out, nil
}

// MeanOf is the mean colour of the plants that have one, the covariance of its error as
// a sample, and how many they are.
func MeanOf(ids []string, colors map[string]Record) (mean cie.Lab, cov [3][3]float64, n int) {
	var some []space.Vector
	for _, id := range ids {
		if r, ok := colors[id]; ok {
			some = append(some, space.Of(r.Lab))
		}
	}
	if len(some) < 2 {
		return mean, cov, len(some)
	}
	m, ss := space.Mean(some)
	k := float64(len(some))
	return space.Lab(m), space.Scale(1/(k*(k-1)), ss), len(some)
}

// firstSeasons are the first seasons that plants have a record of.
func firstSeasons(records []Record) map[string]string {
	first := make(map[string]string, len(records))
	for _, r := range records {
		if s, ok := first[r.Plant]; !ok || CompareIDs(r.Season, s) < 0 {
			first[r.Plant] = r.Season
		}
	}
	return first
}

// repeatedPlants counts the plants with records of two seasons.
func repeatedPlants(records []Record) int {
	n := map[string]int{}
	twice := 0
	for _, r := range records {
		if n[r.Plant]++; n[r.Plant] == 2 {
			twice++
		}
	}
	return twice
}
