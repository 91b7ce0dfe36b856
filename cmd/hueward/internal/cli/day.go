package cli

import (
	"time"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/written"
)

// DayForms are what a day may be written as.
const DayForms = written.DayForms

// Today is the garden's date: midnight UTC stands for it, as in the book.
func (a *App) Today() time.Time {
	y, m, d := a.Now().Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Order is that of day and month in 12/7/2026, by the user's locale: in flags and tables.
func (a *App) Order() written.Order {
	return written.OrderOf(func(name string) string { return terminal.Getenv(a.Env, name) })
}

// Day reads a day that the flag was given; empty is today. What is noted has
// happened, so a day to come is refused.
func (a *App) Day(flag, s string) (time.Time, error) { return a.day(flag, s, false) }

// AnyDay is [App.Day] of a day that may be one to come.
func (a *App) AnyDay(flag, s string) (time.Time, error) { return a.day(flag, s, true) }

func (a *App) day(flag, s string, ahead bool) (time.Time, error) {
	d, err := written.Days{Today: a.Today(), Order: a.Order(), Ahead: ahead}.Parse(s)
	if err != nil {
		return a.Today(), Usagef("--%s %w", flag, err)
	}
	return d, nil
}
