// Package ask makes a series of queries and keeps the first error, so that code that needs many answers from the book checks for an
// error once, before it uses the answers. Start with [For]. After an error, no query is made, and its answer is the zero value.
package ask

import "context"

// For returns what f returns, and stores its error in err. Where err holds an error already, f is not called.
func For[T any](ctx context.Context, err *error, f func(context.Context) (T, error)) (answer T) {
	if *err == nil {
		answer, *err = f(ctx)
	}
	return answer
}

// Of is [For] with a query that takes an argument, such as a season or a name.
func Of[T, A any](ctx context.Context, err *error, f func(context.Context, A) (T, error), of A) T {
	return For(ctx, err, func(ctx context.Context) (T, error) { return f(ctx, of) })
}
