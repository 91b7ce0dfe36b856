package selection

import (
	"maps"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// Records pools the observations of each season, by name, into one colour for each plant, as [Rank] does for one season.
// The scatter between photos is estimated from all seasons together. Plants with only refused readings get no record.
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

// MeanOf returns the mean colour of those of the plants that have one, the covariance of its
// sampling error, and the number of these plants; with n < 2 the mean is zero.
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

// firstSeasons returns each plant's first season with a record.
func firstSeasons(records []Record) map[string]string {
	first := make(map[string]string, len(records))
	for _, r := range records {
		if s, ok := first[r.Plant]; !ok || CompareIDs(r.Season, s) < 0 {
			first[r.Plant] = r.Season
		}
	}
	return first
}

// repeatedPlants counts the plants with more than one record.
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
