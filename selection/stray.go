package selection

import (
	"fmt"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/drift"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// family identifies the full sibs of one season, by the places of their parents.
type family struct {
	season       string
	seed, pollen int32
}

// strays finds the records that lie far out of their family and season. out holds their places; quiet are
// all records, those of strays with so large an error that they hardly influence the others.
func (v *Values) strays(records []Record) (quiet []Record, out map[int]bool) {
	readings, of := make([]drift.Reading, len(records)), make([]int, len(records))
	number := map[family]int{}
	for i, r := range records {
		at, ok := v.Ped.Place(r.Plant)
		if !ok {
			return records, nil // records reports the error
		}
		f := family{season: r.Season}
		f.seed, f.pollen = v.Ped.Parents(at)
		if v.Ped.Founder(at) && (f.seed == genetics.Unknown || v.Ped.ID(f.seed) == "") {
			of[i] = -1 - i // founders of no group have no common middle
		} else {
			k, ok := number[f]
			if !ok {
				k = len(number)
				number[f] = k
			}
			of[i] = k
		}
		readings[i] = drift.Reading{Color: space.Of(r.Lab), Cov: r.Cov}
	}
	found := drift.Apart(readings, of)
	if len(found) == 0 {
		return records, nil
	}
	quiet = slices.Clone(records)
	out = map[int]bool{}
	for _, s := range found {
		out[s.At] = true
		quiet[s.At].Cov = space.Add(quiet[s.At].Cov, s.Cov)
	}
	var told []string
	for i := range records {
		if !out[i] {
			continue
		}
		v.Strays = append(v.Strays, records[i].Plant)
		if len(told) < 5 {
			mid := space.Vector{}
			n := 0.0
			for j, r := range records {
				if of[j] == of[i] && !out[j] {
					mid = space.Plus(mid, space.Of(r.Lab))
					n++
				}
			}
			away := cie.DeltaE2000(records[i].Lab, space.Lab(space.Vector{mid[0] / max(n, 1), mid[1] / max(n, 1), mid[2] / max(n, 1)}))
			told = append(told, fmt.Sprintf("plant %s is Delta E %.0f from the rest of its family, and no other plant is like it: a sport, a "+
				"stray seed, or a wrong label? It counts for little in what others are predicted to pass on", records[i].Plant, away))
		}
	}
	if more := len(found) - len(told); more > 0 {
		told = append(told, fmt.Sprintf("%s more lie as far from their families", count(more, "plant")))
	}
	v.Warnings = append(v.Warnings, told...)
	return quiet, out
}
