package cli

import (
	"strings"
	"time"
)

// DayForms are what a day may be written as.
const DayForms = "today, yesterday, or a date such as 2026-07-14"

// Today is the garden's date: midnight UTC stands for it, as in the book.
func (a *App) Today() time.Time {
	y, m, d := a.Now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Day reads a day that the flag was given; empty is today. What is noted has
// happened, so a day to come is refused.
func (a *App) Day(flag, s string) (time.Time, error) {
	t := a.Today()
	switch s = strings.ToLower(strings.TrimSpace(s)); s {
	case "", "today":
		return t, nil
	case "yesterday":
		return t.AddDate(0, 0, -1), nil
	}
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, Usagef("--%s %q: want %s", flag, s, DayForms)
	}
	if d.After(t) {
		return t, Usagef("--%s %s lies ahead; today is %s", flag, s, t.Format(time.DateOnly))
	}
	return d, nil
}
