// Package enter handles the page's small forms of garden practice: seed packets and what became of their seed, stored
// pollen, clones, places in the bed, crops and the last frost; and corrections of names, lines and plants.
//
// Start with a [Form], then a function for it, such as [Packet]. Each makes one change by the rules of the packages garden
// and mending, which the commands use, too, and returns what was done as sentences. A [WrongError] is a mistake that the
// person who filled in the form can correct.
package enter

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"hueward/report/words"
	"hueward/selection/written"
)

// Form is a form that was filled in.
type Form struct {
	Values url.Values
	Now    time.Time    // of the garden's clock
	Days   written.Days // how days are read; Today is the garden's date
	Line   string       // that is looked at; empty: the book has none
	Err    error        // what was typed wrong first, in a field that was read
}

// WrongError is a mistake in a form, as a sentence.
type WrongError struct{ Text string }

func (e *WrongError) Error() string { return e.Text }

// Wrongf is a [WrongError].
func Wrongf(format string, args ...any) error { return &WrongError{fmt.Sprintf(format, args...)} }

// Text is what was typed into a field, without spaces around it.
func (f *Form) Text(field string) string { return strings.TrimSpace(f.Values.Get(field)) }

// wrong stores the first mistake. The field then counts as empty.
func (f *Form) wrong(format string, args ...any) {
	if f.Err == nil {
		f.Err = Wrongf(format, args...)
	}
}

// Day reads a day; empty is today. What is noted has happened, so a day to come is refused.
func (f *Form) Day(field string) time.Time { return f.day(field, f.Days, f.Days.Today) }

// dayAhead reads a day that may lie ahead; empty is none.
func (f *Form) dayAhead(field string) time.Time {
	days := f.Days
	days.Ahead = true
	return f.day(field, days, time.Time{})
}

func (f *Form) day(field string, days written.Days, none time.Time) time.Time {
	s := f.Text(field)
	if s == "" {
		return none
	}
	d, err := days.Parse(s)
	if err != nil {
		f.wrong("The day %v.", err)
	}
	return d
}

// Count reads a count; empty is none.
func (f *Form) Count(field string) *int {
	s := f.Text(field)
	n, err := strconv.Atoi(s)
	switch {
	case s == "":
		return nil
	case err != nil || n < 0 || n > 10_000_000:
		f.wrong("%q is not a number of %s.", s, field)
	}
	return &n
}

// grams reads a weight; empty is 0.
func (f *Form) grams() float64 {
	s := f.Text("grams")
	if s == "" {
		return 0
	}
	g, err := written.Number(s)
	if err != nil || !(g > 0) {
		f.wrong("%q is not a weight in grams.", s)
	}
	return g
}

// join puts sentences together, each with its capital and its point.
func join(sentences ...string) string {
	return words.Joined(" ", words.Each(sentences, words.Sentence)...)
}
