// Package record turns the book's rows into records and finds them: lines, plants, photos, readings, and what a
// season brings. It looks up what was typed ([Find]), and puts rows back as they were ([Restore]). Who may change
// what, and the rules of what may be entered, are package book's, which names these types too.
package record

import (
	"database/sql"
	"encoding/json"
	"math"
	"time"
)

// Day is a stored date, midnight UTC; zero for none.
func Day(s string) time.Time {
	t, _ := time.Parse(time.DateOnly, s)
	return t
}

// Time is a stored time; zero for none.
func Time(s string) time.Time {
	t, _ := time.Parse(time.RFC3339Nano, s)
	return t
}

// scanner reads a column of text; NULL is "".
type scanner func(text string) error

// Scan is for package sql.
func (s scanner) Scan(v any) error {
	text, _ := v.(string)
	return s(text)
}

// AsDay reads a column into t as [Day] does.
func AsDay(t *time.Time) sql.Scanner {
	return scanner(func(s string) error { *t = Day(s); return nil })
}

// AsTime reads a column into t as [Time] does.
func AsTime(t *time.Time) sql.Scanner {
	return scanner(func(s string) error { *t = Time(s); return nil })
}

// asJSON reads a column of JSON into v; NULL and empty text leave it as it is.
func asJSON(v any) sql.Scanner {
	return scanner(func(s string) error {
		if s == "" {
			return nil
		}
		return json.Unmarshal([]byte(s), v)
	})
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
