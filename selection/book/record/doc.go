// Package record reads the book's rows into records: lines, plants, photos, readings, and the crosses, heads and seed
// of a season. It looks up typed names ([Find]), and restores rows for undo ([Tx.Restore]). The rules of what may be
// entered and changed are in package book, which also has names for these types.
package record

import (
	"database/sql"
	"encoding/json"
	"math"
	"time"
)

// Day parses a stored date, as midnight UTC; the empty text gives the zero time.
func Day(s string) time.Time {
	t, _ := time.Parse(time.DateOnly, s)
	return t
}

// Time parses a stored time; the empty text gives the zero time.
func Time(s string) time.Time {
	t, _ := time.Parse(time.RFC3339Nano, s)
	return t
}

// scanner reads a column of text; NULL is "".
type scanner func(text string) error

// Scan implements [sql.Scanner].
func (s scanner) Scan(v any) error {
	text, _ := v.(string)
	return s(text)
}

// AsDay returns a scanner that reads a column into t as [Day] does.
func AsDay(t *time.Time) sql.Scanner {
	return scanner(func(s string) error { *t = Day(s); return nil })
}

// AsTime returns a scanner that reads a column into t as [Time] does.
func AsTime(t *time.Time) sql.Scanner {
	return scanner(func(s string) error { *t = Time(s); return nil })
}

// asJSON returns a scanner that reads a column of JSON into v; NULL and empty text leave v as it is.
func asJSON(v any) sql.Scanner {
	return scanner(func(s string) error {
		if s == "" {
			return nil
		}
		return json.Unmarshal([]byte(s), v)
	})
}

// Finite reports whether none of v is infinite or NaN.
func Finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
