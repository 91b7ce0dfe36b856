package garden

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/book/remedy"
	"hueward/selection/genetics"
)

// PairOptions say how pairs are ranked and chosen.
type PairOptions struct {
	Line, Season       string   // empty: the only line; the newest season with readings
	Keep               int      // these three as for a ranking: see [Options]
	Must, Weigh        []string //
	Among              []string // plants to pair; nil: those that the grower keeps, else those that the ranking does
	Top, Crosses, Uses int      // pairs to list; crosses to choose, 0: the usual; in how many of them one plant may be
	Inbreeding         float64  // percent by which the chosen may raise the line's; 0: the usual
	NoSelfs            bool
	BestOf, Wanted     int     // offspring to expect the nearest of; offspring within the tolerance to grow for
	Germination        float64 // percent; 0: what the line's germination tests say
}

// UsualPairs are the options where nobody asks for others.
func UsualPairs() *PairOptions {
	return &PairOptions{Top: 10, Uses: 3, BestOf: 10, Wanted: 1}
}

// same reports whether o chooses the same crosses of the same plants.
func (u *PairOptions) same(o *PairOptions) bool {
	return len(o.Among) == 0 && o.Crosses == u.Crosses && o.Uses == u.Uses && o.Inbreeding == u.Inbreeding && o.NoSelfs == u.NoSelfs
}

// Pairs ranks a line's season and pairs its plants.
func Pairs(ctx context.Context, b *book.Book, o *PairOptions) (*Season, error) {
	r, err := Judge(ctx, b, &Options{Line: o.Line, Season: o.Season, Keep: o.Keep, Must: o.Must, Weigh: o.Weigh})
	if err != nil {
		return nil, err
	}
	if r, err = r.Decided(ctx, b, o); err != nil {
		return nil, err
	}
	if r.Pairing != nil {
		r.Pairing.Predict()
	}
	return r, r.NoPairs
}

// pair chooses crosses. Once they are decided on for the season, further ones are of its kept and reserve plants alone.
func (r *Season) pair(ctx context.Context, b *book.Book, o *PairOptions, decided bool) (*selection.Pairing, error) {
	if r.Values == nil {
		return nil, fmt.Errorf("line %s, season %s: %w", r.Line.Name, r.Season, selection.ErrNoColors)
	}
	selfs, err := SetsSelfs(ctx, b, r.Line.Name)
	if err != nil {
		return nil, err
	}
	opt := &selection.PairOptions{
		Top: o.Top, Crosses: o.Crosses, MostUses: o.Uses, MostInbreeding: o.Inbreeding / 100,
		Hold: r.Line.Target.Aim == book.Hold, NoSelfs: o.NoSelfs || selfs != "", Bonus: r.Ranking.Bonuses,
		Doubts:  map[string]string{},
		Predict: selection.PredictOptions{N: o.BestOf, Wanted: o.Wanted, Germination: o.Germination / 100},
	}
	for id, of := range r.Selfs {
		opt.Doubts[id] = fmt.Sprintf("; %s may be a self of %s", id, of)
	}
	only := ""
	if len(o.Among) > 0 {
		named, err := b.Which(ctx, o.Among)
		if err != nil {
			return nil, err
		}
		genes, err := GenotypesOf(ctx, b)
		if err != nil {
			return nil, err
		}
		for _, p := range named {
			if p = genes.Of(p); !slices.Contains(opt.Candidates, p) {
				opt.Candidates = append(opt.Candidates, p)
			}
		}
		only = "only the plants named are paired"
	} else if opt.Candidates, opt.Spare, only = r.candidates(decided); len(opt.Candidates) == 0 {
		return nil, r.noCandidates()
	}
	var some string
	most := mostPaired
	if opt.Hold {
		_, most = genetics.ParentsToHold(0.01) // more parents hold it no better
	}
	if n := len(opt.Candidates); n > most && len(o.Among) == 0 {
		opt.Candidates = opt.Candidates[:most]
		some = fmt.Sprintf("of %d plants, the %d that stand first in the ranking were paired", n, most)
	}
	tested := ""
	if o.Germination == 0 {
		if opt.Predict.Germination, tested, err = Sprouting(ctx, b, r.Line.Name); err != nil {
			return nil, err
		}
	}
	crosses := selection.Crosses
	if decided { // these are shown, and so predicted in full
		crosses = selection.Pairs
	}
	p, err := crosses(r.Values, r.Line.Target.Selection(), opt)
	if err != nil {
		return nil, err
	}
	p.Only = only
	for _, s := range []string{tested, selfs, some} {
		if s != "" {
			p.Assumed = append(p.Assumed, s)
		}
	}
	return p, nil
}

// mostPaired is how many plants of a season are paired: those that stand first in its ranking. All pairs of a station's
// thousands would take longer than a grower waits for the ranking, which names the crosses too.
const mostPaired = 80

// candidates are the plants to pair: the season's kept and reserve ones when two at least are, or all that were measured
// and still grow; and, of these, those that the ranking would drop. Of a held line only those that are true are paired. Words
// say who is left out. Once it is decided, those that are dropped are left out.
func (r *Season) candidates(decided bool) (ids []string, spare map[string]bool, words string) {
	var kept, all []string
	spare = map[string]bool{}
	for i := range r.Ranking.Plants {
		p := &r.Ranking.Plants[i]
		status := r.Plants[p.ID].Status
		switch {
		case status == book.Passed || p.Lacks != "" || r.Ranking.Held && p.Advice != selection.Keep:
			continue
		case p.Advice != selection.Pass:
		case decided && status != book.Kept && status != book.Reserve:
			continue
		default:
			spare[p.ID] = true
		}
		if status == book.Kept || status == book.Reserve {
			kept = append(kept, p.ID)
		}
		all = append(all, p.ID)
	}
	for _, p := range r.Plants { // kept without a photo of this season
		if p.Season == r.Season && (p.Status == book.Kept || p.Status == book.Reserve) {
			if !r.Ranking.Held && !slices.ContainsFunc(r.Ranking.Plants, func(q selection.Plant) bool { return q.ID == p.ID }) {
				kept = append(kept, p.ID)
			}
		}
	}
	switch {
	case r.Ranking.Held && len(all) == 1:
		return all, spare, "the one plant that is true is paired with itself"
	case r.Ranking.Held && len(all) > 0:
		return all, spare, fmt.Sprintf("the %d plants that are true are paired", len(all))
	case len(kept) > 1 && !r.Ranking.Held:
		return kept, spare, fmt.Sprintf("only the %d plants that you keep or hold in reserve are paired", len(kept))
	}
	return all, spare, ""
}

// noCandidates says why no plant can be paired.
func (r *Season) noCandidates() error {
	dropped, lacking := false, false
	for i := range r.Ranking.Plants {
		p := &r.Ranking.Plants[i]
		switch {
		case p.Lacks != "":
			lacking = true
		case r.Plants[p.ID].Status == book.Passed:
			dropped = dropped || !r.Ranking.Held || p.Advice == selection.Keep
		}
	}
	name := remedy.Step(remedy.NamePlants)
	switch {
	case dropped && r.Ranking.Held:
		return name.Errorf("all plants that are true are dropped; keep those that you want to go on with, or name plants")
	case dropped:
		return name.Errorf("all plants that could be paired are dropped; keep those that you want to go on with, or name plants")
	case lacking:
		return name.Errorf("no plant measured this season has what plants must have; ask for less, or name plants")
	case r.Ranking.Held && len(r.Ranking.Plants) > 0:
		return errors.New("no plant measured this season is true; check the target, or grow seed of an earlier season again")
	}
	return name.Errorf("no plant of this season is measured and still growing; measure photos first, or name plants")
}

// Candidates are the plants that a season goes on from, as crosses do: those that the grower keeps and holds in reserve, or else
// those that the ranking does; none that is dropped.
func (r *Season) Candidates() []string {
	ids, _, _ := r.candidates(true)
	return ids
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

// PlanOptions say what a plan looks at.
type PlanOptions struct {
	Line, Season string             // empty: the only line; the newest season with readings
	Choices      []selection.Choice // nil: the usual ones
	Seasons      int                // how many to look ahead
	Runs         int                // 0: the usual number
	NoSelfs      bool
}

// Plan looks ahead from a line's season: from the plants that are kept and in reserve.
func Plan(ctx context.Context, b *book.Book, o *PlanOptions) (*selection.Plan, *Season, error) {
	r, err := Rank(ctx, b, &Options{Line: o.Line, Season: o.Season})
	if err != nil {
		return nil, nil, err
	}
	p, err := r.Plan(ctx, b, o)
	return p, r, err
}

// Plan looks ahead from the season.
func (r *Season) Plan(ctx context.Context, b *book.Book, o *PlanOptions) (*selection.Plan, error) {
	if r.Values == nil {
		return nil, fmt.Errorf("line %s, season %s: %w", r.Line.Name, r.Season, selection.ErrNoColors)
	}
	selfs, err := SetsSelfs(ctx, b, r.Line.Name)
	if err != nil {
		return nil, err
	}
	candidates := r.Candidates()
	if len(candidates) == 0 && r.NoPairs != nil {
		return nil, r.NoPairs
	}
	p, err := selection.PlanAhead(r.Values, r.Line.Target.Selection(), &selection.PlanOptions{
		Candidates: candidates, Choices: o.Choices, Seasons: o.Seasons, Runs: o.Runs, NoSelfs: o.NoSelfs || selfs != "",
		Hold: r.Line.Target.Aim == book.Hold,
	})
	if err != nil {
		return nil, fmt.Errorf("line %s: %w", r.Line.Name, err)
	}
	begins := fmt.Sprintf("it begins with the %d plants that are kept or in reserve", len(candidates))
	if len(candidates) == 1 {
		begins = "it begins with the one plant that is kept or in reserve"
	}
	p.Assumed = append(p.Assumed, begins)
	return p, nil
}
