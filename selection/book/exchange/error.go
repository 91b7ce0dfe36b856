package exchange

import (
	"fmt"

	"hueward/selection/book/remedy"
)

// Error is a mistake in a table, with its place.
type Error struct {
	File   string // as it was named
	Line   int    // counted from 1; 0: the file as a whole
	Column string // empty: the line as a whole
	Reason string // what is wrong, and what to do
	Remedy remedy.Remedy
}

func (e *Error) Error() string {
	switch {
	case e.Line == 0:
		return fmt.Sprintf("%s: %s", e.File, e.Reason)
	case e.Column == "":
		return fmt.Sprintf("%s: line %d: %s", e.File, e.Line, e.Reason)
	}
	return fmt.Sprintf("%s: line %d, column %q: %s", e.File, e.Line, e.Column, e.Reason)
}

// Quote is a value as an error shows it: in quotes, and not all of a long one.
func Quote(s string) string {
	const most = 60
	n := 0
	for i := range s {
		if n++; n > most {
			return fmt.Sprintf("%q…", s[:i])
		}
	}
	return fmt.Sprintf("%q", s)
}

// How is what mends the mistake.
func (e *Error) How() remedy.Remedy { return e.Remedy }
