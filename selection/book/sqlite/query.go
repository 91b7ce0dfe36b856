package sqlite

import (
	"context"
	"database/sql"
)

// Querier is a database, a connection of it, or a transaction.
type Querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Collect reads all rows with scan.
func Collect[T any](ctx context.Context, q Querier, query string, args []any, scan func(rows *sql.Rows, v *T) error) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, Wrap(err)
	}
	defer rows.Close()
	out := []T{}
	for rows.Next() {
		var v T
		if err := scan(rows, &v); err != nil {
			return nil, Wrap(err)
		}
		out = append(out, v)
	}
	return out, Wrap(rows.Err())
}

// Column is the first column of what the query finds.
func Column[T any](ctx context.Context, q Querier, query string, args ...any) ([]T, error) {
	return Collect(ctx, q, query, args, func(rows *sql.Rows, v *T) error { return rows.Scan(v) })
}

// Pairs are the two columns of what the query finds, the second by the first.
func Pairs[K comparable, V any](ctx context.Context, q Querier, query string, args ...any) (map[K]V, error) {
	type pair struct {
		k K
		v V
	}
	list, err := Collect(ctx, q, query, args, func(rows *sql.Rows, p *pair) error { return rows.Scan(&p.k, &p.v) })
	out := make(map[K]V, len(list))
	for _, p := range list {
		out[p.k] = p.v
	}
	return out, err
}
