// Package record turns the book's rows into records and finds them: lines, plants, photos, readings, and what a
// season brings. It looks up what was typed ([Find]), and puts rows back as they were ([Restore]). Who may change
// what, and the rules of what may be entered, are package book's, which names these types too.
package record

import (
	"context"
	"database/sql"
	"math"
	"time"

	"hueward/selection/book/sqlite"
)

// Day is a stored date, midnight UTC; zero for NULL.
func Day(s sql.NullString) time.Time {
	t, _ := time.Parse(time.DateOnly, s.String)
	return t
}

// Time is a stored time; zero for none.
func Time(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}
	}
	return t
}

// Count is a stored count; nil for NULL.
func Count(n sql.NullInt64) *int {
	if !n.Valid {
		return nil
	}
	v := int(n.Int64)
	return &v
}

// Querier is a database, a connection of it, or a transaction.
type Querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Collect reads all rows with scan.
func Collect[T any](ctx context.Context, q Querier, query string, args []any, scan func(rows *sql.Rows, v *T) error) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	out := []T{}
	for rows.Next() {
		var v T
		if err := scan(rows, &v); err != nil {
			return nil, sqlite.Wrap(err)
		}
		out = append(out, v)
	}
	return out, sqlite.Wrap(rows.Err())
}

// Finite reports whether all of v are ordinary numbers.
func Finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
