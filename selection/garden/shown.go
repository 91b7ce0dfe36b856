package garden

import (
	"context"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
)

// ShownColors are the plants' colours as the ranking of their newest season with a reading shows them, the weighted mean of
// each one's photos; plants without a colour are left out.
func ShownColors(ctx context.Context, b *book.Book, ids []string) (map[string]cie.Lab, error) {
	out := map[string]cie.Lab{}
	readings, err := b.ReadingsOf(ctx, ids...)
	if err != nil || len(ids) == 0 {
		return out, err
	}
	newest := map[string]string{}
	for i := range readings {
		r := &readings[i]
		if o, ok := r.Observation(); !ok || o.Refused {
			continue
		}
		if was, ok := newest[r.Plant]; !ok || selection.CompareIDs(r.Season, was) > 0 {
			newest[r.Plant] = r.Season
		}
	}
	plants, err := b.Plants(ctx, book.PlantFilter{IDs: ids})
	if err != nil {
		return nil, err
	}
	type of struct{ line, season string }
	seen := map[of]map[string]cie.Lab{}
	for _, p := range plants {
		season, ok := newest[p.ID]
		if !ok {
			continue
		}
		key := of{p.Line, season}
		if seen[key] == nil {
			if seen[key], err = colorsOf(ctx, b, p.Line, season); err != nil {
				return nil, err
			}
		}
		if c, ok := seen[key][p.ID]; ok {
			out[p.ID] = c
		}
	}
	return out, nil
}

// colorsOf are the colours of a line's plants in a season, those that are out of its ranking included.
func colorsOf(ctx context.Context, b *book.Book, line, season string) (map[string]cie.Lab, error) {
	readings, err := b.Readings(ctx, line, season)
	l, plants := ask.Of(ctx, &err, b.Line, line), ask.Of(ctx, &err, b.Plants, book.PlantFilter{Line: line})
	if err != nil {
		return nil, err
	}
	l.Target.PairAll(readings)
	out := map[string]cie.Lab{}
	left := map[string]bool{}
	for _, p := range plants {
		left[p.ID] = gone(p.Status) != ""
	}
	var ranked, others []selection.Observation
	for _, o := range book.Observations(readings) {
		if others = append(others, o); !left[o.Plant] {
			ranked = append(ranked, o)
		}
	}
	for _, obs := range [][]selection.Observation{others, ranked} { // what is ranked counts as it is ranked
		records, err := selection.Records(map[string][]selection.Observation{season: obs})
		if err != nil {
			return nil, err
		}
		for _, r := range records {
			out[r.Plant] = r.Lab
		}
	}
	return out, nil
}
