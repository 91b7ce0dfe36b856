package garden

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
)

// Options choose the season and how it is ranked.
type Options struct {
	Line, Season string   // empty: the only line; the newest season with readings
	Keep         int      // plants to keep as parents; 0: a quarter, at least 2; of a held line all that are true
	Must, Weigh  []string // limits of traits, as "form>=3"; traits that count too, as "form=0.5"
}

// Season is one season of one line: what the book holds, how it ranks, and which crosses to make of it.
type Season struct {
	Line     *book.Line // has a target
	Season   string
	Plants   map[string]book.Plant // the line's of all seasons
	Readings []book.Reading        // of the season
	Ranking  *selection.Ranking
	Values   *selection.Values // nil: none could be predicted
	// Pairing are the crosses to make, by the usual options; nil: none can be proposed, and NoPairs says why. What they promise
	// is worked out by [selection.Pairing.Predict]: a ranking needs their plants alone.
	Pairing *selection.Pairing
	NoPairs error
	// Selfs are the plants that may be selfs and not offspring of both their parents, with the seed
	// parent that they match: see [SelfCheck].
	Selfs map[string]string
}

// Rank reads a season from the book, ranks its plants and chooses the crosses to make of them: ranking and
// pairs name the same plants, see [Season.Decided].
func Rank(ctx context.Context, b *book.Book, o *Options) (*Season, error) {
	r, err := Judge(ctx, b, o)
	if err != nil {
		return nil, err
	}
	return r.Decided(ctx, b, nil)
}

// Judge reads a season from the book and ranks its plants, each by itself. Plants that are lost or off-type stay out of
// it; else what has been decided of a plant does not matter.
func Judge(ctx context.Context, b *book.Book, o *Options) (*Season, error) {
	r := &Season{}
	var err error
	if r.Line, r.Season, err = Aimed(ctx, b, o.Line, o.Season); err != nil {
		return nil, err
	}
	line := r.Line
	var beside sync.WaitGroup
	var unvalued error
	beside.Go(func() { r.Values, unvalued = Values(ctx, b, line.Name, r.Season) })
	defer beside.Wait()
	if r.Readings, err = b.Readings(ctx, line.Name, r.Season); err != nil {
		return nil, err
	}
	line.Target.PairAll(r.Readings)
	genes, err := r.read(ctx, b)
	if err != nil {
		return nil, err
	}
	genes.readings(r.Readings)
	opt := &selection.Options{Keep: o.Keep, Hold: line.Target.Aim == book.Hold}
	for _, p := range r.Plants {
		if p.Season == r.Season && gone(p.Status) == "" {
			opt.Plants = append(opt.Plants, p.ID)
		}
	}
	if beside.Wait(); unvalued != nil {
		return nil, fmt.Errorf("line %s: %w", line.Name, unvalued)
	}
	opt.Values = r.Values
	if opt.Traits, opt.Pedigree, err = Traits(ctx, b, o.Must, o.Weigh); err != nil {
		return nil, err
	}
	var left []selection.LeftOut
	obs := slices.DeleteFunc(book.Observations(r.Readings), func(v selection.Observation) bool {
		why := gone(r.Plants[v.Plant].Status)
		if why != "" && !v.Refused && !slices.ContainsFunc(left, func(l selection.LeftOut) bool { return l.ID == v.Plant }) {
			left = append(left, selection.LeftOut{ID: v.Plant, Why: why})
		}
		return why != ""
	})
	r.Ranking, err = selection.Rank(line.Target.Selection(), obs, opt)
	if errors.Is(err, selection.ErrNoColors) && len(left) > 0 {
		return nil, fmt.Errorf("line %s, season %s: all plants that have a colour are lost or off-type; look at an earlier season, or correct "+
			"what they are noted as", line.Name, r.Season)
	}
	if errors.Is(err, selection.ErrNoColors) {
		return nil, fmt.Errorf("line %s, season %s: %w", line.Name, r.Season, err)
	}
	if err != nil {
		return nil, err
	}
	r.Ranking.LeftOut = left
	checks, err := SelfChecks(ctx, b, line.Name, r.Season)
	if err != nil {
		return nil, err
	}
	r.Selfs = map[string]string{}
	for i := range checks {
		if s := checks[i].Words(); s != "" {
			r.Ranking.Warnings = append(r.Ranking.Warnings, s)
		}
		for _, id := range checks[i].Selfs() {
			r.Selfs[id] = checks[i].Cross.SeedParent
		}
	}
	for i := range r.Ranking.Plants {
		p := &r.Ranking.Plants[i]
		p.Why += r.maybeSelf(p.ID)
	}
	second := line.Target.SecondDeltaE(r.Readings)
	for i := range r.Ranking.Plants {
		if d, ok := second[r.Ranking.Plants[i].ID]; ok {
			r.Ranking.Plants[i].SecondDeltaE = &d
		}
	}
	return r, nil
}

// maybeSelf says of a plant that it may be a self; empty: nothing speaks for it.
func (r *Season) maybeSelf(id string) string {
	if of := r.Selfs[id]; of != "" {
		return "; may be a self of " + of
	}
	return ""
}

// gone says why a plant of that status is no candidate; empty: it is one.
func gone(s book.Status) string {
	switch s {
	case book.Lost:
		return "lost"
	case book.OffType:
		return "off-type"
	}
	return ""
}

// read reads the line's plants, and which have the genes of others.
func (r *Season) read(ctx context.Context, b *book.Book) (Genotypes, error) {
	var err error
	plants, genes := ask.Of(ctx, &err, b.Plants, book.PlantFilter{Line: r.Line.Name}), Genotypes(ask.For(ctx, &err, b.Genotypes))
	r.Plants = genes.plants(plants, r.Season)
	return genes, err
}

// Decided is the season with the crosses to make of it. A plant that one of them needs is kept or held in reserve, and its
// reason says so; a plant that is dropped is in none. o is how they are chosen; nil: as usual. r itself is left as it is.
func (r *Season) Decided(ctx context.Context, b *book.Book, o *PairOptions) (*Season, error) {
	out := *r
	ranking := *r.Ranking
	ranking.Plants = slices.Clone(ranking.Plants)
	out.Ranking = &ranking
	if _, err := out.read(ctx, b); err != nil {
		return nil, err
	}
	usual := UsualPairs()
	if o != nil {
		usual.Top, usual.BestOf, usual.Wanted, usual.Germination = o.Top, o.BestOf, o.Wanted, o.Germination
	}
	out.Pairing, out.NoPairs = out.pair(ctx, b, usual, false)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if out.Pairing != nil {
		ranking.Need(out.Pairing.Chosen)
	}
	for i := range ranking.Plants {
		p := &ranking.Plants[i]
		switch status := out.Plants[p.ID].Status; {
		case status == book.Passed && p.Advice != selection.Pass:
			p.Why += "; you dropped it"
		case status == book.Kept && p.Advice != selection.Keep:
			p.Why += "; you keep it"
		case status == book.Reserve && p.Advice == selection.Pass:
			p.Why += "; you hold it in reserve"
		}
	}
	if o == nil || usual.same(o) {
		return &out, nil
	}
	out.Pairing, out.NoPairs = out.pair(ctx, b, o, true)
	return &out, ctx.Err()
}
