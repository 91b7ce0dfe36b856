package garden

import (
	"context"
	"fmt"

	"hueward/selection"
	"hueward/selection/book"
)

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
