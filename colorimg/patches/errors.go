package patches

import (
	"errors"
	"fmt"
	"strconv"
)

// SyntaxError is a file that cannot be read as a set of patches. It prints as one line: where, what, what to do.
type SyntaxError struct {
	File string // as named to [Open]; empty: not known
	Line int    // from 1; 0: the file as a whole
	What string
}

func (e *SyntaxError) Error() string {
	switch {
	case e.File != "" && e.Line > 0:
		return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.What)
	case e.File != "":
		return e.File + ": " + e.What
	case e.Line > 0:
		return fmt.Sprintf("line %d: %s", e.Line, e.What)
	}
	return e.What
}

// Causes of a refusal to read a set in a picture.
var (
	ErrNoMatch = errors.New("the colours in the picture do not fit the set of patches")
	ErrTurned  = errors.New("the set of patches lies another way round")
	ErrSmall   = errors.New("the patches are too small in the picture")
)

func at(line int, format string, args ...any) error {
	return &SyntaxError{Line: line, What: fmt.Sprintf(format, args...)}
}

// quote is %q of at most the first 40 bytes of s.
func quote(s string) string {
	if len(s) > 40 {
		return strconv.Quote(s[:40] + "…")
	}
	return strconv.Quote(s)
}
