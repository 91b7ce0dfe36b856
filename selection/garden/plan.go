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

// Plan looks ahead from a line's season.
func Plan(ctx context.Context, b *book.Book, o *PlanOptions) (*selection.Plan, *book.Line, string, error) {
	line, season, v, err := Predicted(ctx, b, o.Line, o.Season)
	if err != nil {
		return nil, nil, "", err
	}
	opt := &selection.PlanOptions{Choices: o.Choices, Seasons: o.Seasons, Runs: o.Runs, NoSelfs: o.NoSelfs}
	if opt.Candidates, err = Candidates(ctx, b, line.Name, season, nil, v); err != nil {
		return nil, nil, "", err
	}
	p, err := selection.PlanAhead(v, line.Target.Selection(), opt)
	if err != nil {
		return nil, nil, "", fmt.Errorf("line %s: %w", line.Name, err)
	}
	return p, line, season, nil
}
