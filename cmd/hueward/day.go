package main

import (
	"strings"
	"time"
)

// dayForms are what a day may be written as.
const dayForms = "today, yesterday, or a date such as 2026-07-14"

// today is the garden's date: midnight UTC stands for it, as in the book.
func (a *app) today() time.Time {
	y, m, d := a.now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// day reads a day that the flag was given; empty is today. What is noted has
// happened, so a day to come is refused.
func (a *app) day(flag, s string) (time.Time, error) {
	t := a.today()
	switch s = strings.ToLower(strings.TrimSpace(s)); s {
	case "", "today":
		return t, nil
	case "yesterday":
		return t.AddDate(0, 0, -1), nil
	}
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, usagef("--%s %q: want %s", flag, s, dayForms)
	}
	if d.After(t) {
		return t, usagef("--%s %s lies ahead; today is %s", flag, s, t.Format(time.DateOnly))
	}
	return d, nil
}
