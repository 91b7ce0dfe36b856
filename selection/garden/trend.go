package garden

import (
	"context"
	"fmt"

	"hueward/selection/book"
	"hueward/selection/trend"
)

// Trend reads a line's seasons and looks at them.
func Trend(ctx context.Context, b *book.Book, name, season string) (*trend.Result, *book.Line, error) {
	line, season, err := Aimed(ctx, b, name, season)
	if err != nil {
		return nil, nil, err
	}
	l, err := LineageOf(ctx, b, line.Name, season)
	if err != nil {
		return nil, nil, err
	}
	v, err := l.Values()
	if err != nil {
		return nil, nil, fmt.Errorf("line %s: %w", line.Name, err)
	}
	r, err := trend.Trend(line.Target.Selection(), l.Grown(), &trend.Options{Hold: line.Target.Aim == book.Hold, Values: v})
	if err != nil {
		return nil, nil, fmt.Errorf("line %s: %w", line.Name, err)
	}
	return r, line, nil
}
