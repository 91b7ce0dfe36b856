// Package ask puts questions to the book one after the other, and keeps the first error: whoever gathers an answer of many looks
// for it once, before the answers are used. What is asked after an error is not asked at all, and its answer is nothing.
package ask

import "context"

// For asks f.
func For[T any](ctx context.Context, err *error, f func(context.Context) (T, error)) (answer T) {
	if *err == nil {
		answer, *err = f(ctx)
	}
	return answer
}

// Of asks f for what is of a season, a name or the like.
func Of[T, A any](ctx context.Context, err *error, f func(context.Context, A) (T, error), of A) T {
	return For(ctx, err, func(ctx context.Context) (T, error) { return f(ctx, of) })
}
