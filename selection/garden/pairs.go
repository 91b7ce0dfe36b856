package garden

import (
	"context"
	"fmt"

	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/book/remedy"
)

// PairOptions say how pairs are ranked and chosen.
type PairOptions struct {
	Line, Season       string   // empty: the only line; the newest season with readings
	Among              []string // plants to pair; nil: those kept and in reserve, else all
	Top, Crosses, Uses int      // pairs to list; crosses to choose; in how many of them one plant may be
	Inbreeding         float64  // percent by which the chosen may raise the line's; 0: the usual
	NoSelfs            bool
	BestOf, Wanted     int     // offspring to expect the nearest of; offspring within the tolerance to grow for
	Germination        float64 // percent; 0: what the line's germination tests say
}

// UsualPairs are the options where nobody asks for others.
func UsualPairs() *PairOptions {
	return &PairOptions{Top: 10, Crosses: 6, Uses: 3, BestOf: 10, Wanted: 1}
}

// Pairs finds the candidates of a line's season and pairs them.
func Pairs(ctx context.Context, b *book.Book, o *PairOptions) (*selection.Pairing, *book.Line, string, error) {
	line, season, v, err := Predicted(ctx, b, o.Line, o.Season)
	if err != nil {
		return nil, nil, "", err
	}
	r, err := PairValues(ctx, b, line, season, v, o)
	return r, line, season, err
}

// PairValues pairs the candidates of a season by what they pass on.
func PairValues(ctx context.Context, b *book.Book, line *book.Line, season string, v *selection.Values,
	o *PairOptions) (r *selection.Pairing, err error) {
	opt := &selection.PairOptions{
		Top: o.Top, Crosses: o.Crosses, MostUses: o.Uses, MostInbreeding: o.Inbreeding / 100,
		Hold: line.Target.Aim == book.Hold, NoSelfs: o.NoSelfs,
		Predict: selection.PredictOptions{N: o.BestOf, Wanted: o.Wanted, Germination: o.Germination / 100},
	}
	if opt.Candidates, err = Candidates(ctx, b, line.Name, season, o.Among, v); err != nil {
		return nil, err
	}
	tested := ""
	if o.Germination == 0 {
		if opt.Predict.Germination, tested, err = Sprouting(ctx, b, line.Name); err != nil {
			return nil, err
		}
	}
	if r, err = selection.Pairs(v, line.Target.Selection(), opt); err != nil {
		return nil, err
	}
	if tested != "" {
		r.Assumed = append(r.Assumed, tested)
	}
	return r, nil
}

// Candidates are the plants to pair: those named, or the season's kept and reserve ones
// when two at least are, or all that were measured and still grow.
func Candidates(ctx context.Context, b *book.Book, line, season string, named []string, v *selection.Values) ([]string, error) {
	if len(named) > 0 {
		return b.Which(ctx, named)
	}
	plants, err := b.Plants(ctx, book.PlantFilter{Line: line})
	if err != nil {
		return nil, err
	}
	var kept, all []string
	for _, p := range plants {
		if p.Season != season {
			continue
		}
		switch p.Status {
		case book.Kept, book.Reserve:
			kept = append(kept, p.ID)
		case book.Passed, book.OffType, book.Lost:
			continue
		}
		if v.Measured(p.ID) {
			all = append(all, p.ID)
		}
	}
	if len(kept) > 1 {
		return kept, nil
	}
	if len(all) == 0 {
		return nil, remedy.Step(remedy.NamePlants).Errorf("no plant of this season is measured and still growing; measure photos first, or " +
			"name plants")
	}
	return all, nil
}

// Sprouting is the share of seeds of the line's packets that sprouted in tests, and
// words that say so; 1 where none was read.
func Sprouting(ctx context.Context, b *book.Book, line string) (share float64, words string, err error) {
	packets, err := b.Packets(ctx, "")
	if err != nil {
		return 0, "", err
	}
	seeds, sprouted := 0, 0
	for _, p := range packets {
		if p.Line != line {
			continue
		}
		for _, t := range p.Tests {
			if !t.Read.IsZero() {
				seeds += t.Seeds
				sprouted += t.Sprouted
			}
		}
	}
	if seeds == 0 {
		return 1, "every seed comes up (the line has no germination test)", nil
	}
	return max(float64(sprouted), 0.5) / float64(seeds), fmt.Sprintf("%.0f %% of seeds come up, as in the line's germination tests of %d "+
		"seeds", 100*float64(sprouted)/float64(seeds), seeds), nil
}
