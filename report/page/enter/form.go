// Package enter takes the page's small forms of garden practice: seed packets and what became
// of their seed, stored pollen, clones, places in the bed, crops and the last frost; and names,
// lines and plants that are put right.
//
// Each function notes one change by the rules of the packages garden and mending, which the
// commands go by, too, and returns what was done as sentences. A [WrongError] is what whoever filled the form
// in can put right.
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
}

// WrongError says what is wrong in a form, as a sentence.
type WrongError struct{ Text string }

func (e *WrongError) Error() string { return e.Text }

// Wrongf is a [WrongError].
func Wrongf(format string, args ...any) error { return &WrongError{fmt.Sprintf(format, args...)} }

// Text is what was typed into a field, without spaces around it.
func (f *Form) Text(field string) string { return strings.TrimSpace(f.Values.Get(field)) }

// Day reads a day; empty is today. What is noted has happened, so a day to come is refused.
func (f *Form) Day(field string) (time.Time, error) {
	s := f.Text(field)
	if s == "" {
		return f.Days.Today, nil
	}
	d, err := f.Days.Parse(s)
	if err != nil {
		return d, Wrongf("The day %v.", err)
	}
	return d, nil
}

// dayAhead reads a day that may lie ahead; empty is none.
func (f *Form) dayAhead(field string) (time.Time, error) {
	s := f.Text(field)
	if s == "" {
		return time.Time{}, nil
	}
	days := f.Days
	days.Ahead = true
	d, err := days.Parse(s)
	if err != nil {
		return d, Wrongf("The day %v.", err)
	}
	return d, nil
}

// Count reads a count; empty is none.
func (f *Form) Count(field string) (*int, error) {
	s := f.Text(field)
	if s == "" {
		return nil, nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || n > 10_000_000 {
		return nil, Wrongf("%q is not a number of %s.", s, field)
	}
	return &n, nil
}

// grams reads a weight; empty is 0.
func (f *Form) grams() (float64, error) {
	s := f.Text("grams")
	if s == "" {
		return 0, nil
	}
	g, err := written.Number(s)
	if err != nil || !(g > 0) {
		return 0, Wrongf("%q is not a weight in grams.", s)
	}
	return g, nil
}

// join puts sentences together, each with its capital and its point.
func join(sentences ...string) string {
	var out []string
	for _, s := range sentences {
		out = append(out, words.Sentence(s))
	}
	return words.Joined(" ", out...)
}
