package garden

import (
	"context"

	"hueward/selection/book"
)

// asking reads a book for one answer, and keeps the first error: after it nothing more is read, and all is empty.
type asking struct {
	ctx context.Context
	b   *book.Book
	err error
}

// ask is what read gives.
func ask[T any](a *asking, read func(context.Context) (T, error)) (v T) {
	if a.err == nil {
		v, a.err = read(a.ctx)
	}
	return v
}

// askOf is what read gives of one thing, such as a season.
func askOf[A, T any](a *asking, read func(context.Context, A) (T, error), of A) T {
	return ask(a, func(ctx context.Context) (T, error) { return read(ctx, of) })
}

func (a *asking) crops() *AllCrops {
	return ask(a, func(ctx context.Context) (*AllCrops, error) { return Crops(ctx, a.b) })
}
