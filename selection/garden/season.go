package garden

import (
	"context"
	"errors"
	"fmt"

	"hueward/selection"
	"hueward/selection/book"
)

// Options choose the season and how it is ranked.
type Options struct {
	Line, Season string   // empty: the only line; the newest season with readings
	Keep         int      // plants to keep as parents; 0: a quarter, at least 2
	Must, Weigh  []string // limits of traits, as "form>=3"; traits that count too, as "form=0.5"
}

// Season is one season of one line: what the book holds and how it ranks.
type Season struct {
	Line     *book.Line // has a target
	Season   string
	Plants   map[string]book.Plant // the line's of all seasons
	Readings []book.Reading        // of the season
	Ranking  *selection.Ranking
	Values   *selection.Values // nil: none could be predicted
}

// Rank reads a season from the book and ranks its plants.
func Rank(ctx context.Context, b *book.Book, o *Options) (*Season, error) {
	r := &Season{Plants: map[string]book.Plant{}}
	var err error
	if r.Line, r.Season, err = Aimed(ctx, b, o.Line, o.Season); err != nil {
		return nil, err
	}
	line := r.Line
	if r.Readings, err = b.Readings(ctx, line.Name, r.Season); err != nil {
		return nil, err
	}
	line.Target.PairAll(r.Readings)
	plants, err := b.Plants(ctx, book.PlantFilter{Line: line.Name})
	if err != nil {
		return nil, err
	}
	opt := &selection.Options{Keep: o.Keep}
	for _, p := range plants {
		r.Plants[p.ID] = p
		if p.Season == r.Season && p.Status != book.Lost {
			opt.Plants = append(opt.Plants, p.ID)
		}
	}
	if opt.Values, err = Values(ctx, b, line.Name, r.Season); err != nil {
		return nil, fmt.Errorf("line %s: %w", line.Name, err)
	}
	r.Values = opt.Values
	if opt.Traits, opt.Pedigree, err = Traits(ctx, b, o.Must, o.Weigh); err != nil {
		return nil, err
	}
	r.Ranking, err = selection.Rank(line.Target.Selection(), book.Observations(r.Readings), opt)
	if errors.Is(err, selection.ErrNoColors) {
		return nil, fmt.Errorf("line %s, season %s: %w", line.Name, r.Season, err)
	}
	if err == nil {
		second := line.Target.SecondDeltaE(r.Readings)
		for i := range r.Ranking.Plants {
			if d, ok := second[r.Ranking.Plants[i].ID]; ok {
				r.Ranking.Plants[i].SecondDeltaE = &d
			}
		}
	}
	return r, err
}
