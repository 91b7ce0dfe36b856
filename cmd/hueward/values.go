package main

import (
	"context"
	"errors"

	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/genetics"
)

// values predicts what the plants of a line pass on, from every season's readings of
// them and of their ancestors; nil when there is nothing to go by.
func values(ctx context.Context, b *book.Book, line string, upTo string) (*selection.Values, error) {
	pedigree, err := b.Pedigree(ctx)
	if err != nil {
		return nil, err
	}
	plants, err := b.Plants(ctx, book.PlantFilter{Line: line})
	if err != nil {
		return nil, err
	}
	own := map[string]bool{}
	var ids []string
	for _, p := range plants {
		if upTo != "" && selection.CompareIDs(p.Season, upTo) > 0 {
			continue
		}
		own[p.ID] = true
		ids = append(ids, p.ID)
	}
	related := genetics.Ancestry(pedigree, ids)
	var others []string
	for _, p := range related {
		if !own[p.ID] {
			others = append(others, p.ID)
		}
	}
	readings, err := b.Readings(ctx, line, "")
	if err != nil {
		return nil, err
	}
	if len(others) > 0 {
		more, err := b.ReadingsOf(ctx, others...)
		if err != nil {
			return nil, err
		}
		readings = append(readings, more...)
		for _, id := range others {
			own[id] = true
		}
	}
	seasons := map[string][]selection.Observation{}
	for i := range readings {
		r := &readings[i]
		if !own[r.Plant] || upTo != "" && selection.CompareIDs(r.Season, upTo) > 0 {
			continue
		}
		if o, ok := r.Observation(); ok {
			seasons[r.Season] = append(seasons[r.Season], o)
		}
	}
	records, err := selection.Records(seasons)
	if err != nil {
		return nil, err
	}
	v, err := selection.Predict(related, records, nil)
	if errors.Is(err, selection.ErrNoRecords) {
		return nil, nil
	}
	return v, err
}
