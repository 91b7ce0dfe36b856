package main

import (
	"errors"
	"fmt"
	"strings"
)

// errRefused says that the work was done, but that some inputs were refused.
// Each of them has been named on standard error already, see [app.refuse].
var errRefused = errors.New("some inputs were refused")

// errNothing says that no input could be read at all and nothing was done.
// Each of them has been named on standard error already.
var errNothing = errors.New("no input could be read")

// usageError is a command line that cannot be understood.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

func usagef(format string, args ...any) error {
	return &usageError{fmt.Errorf(format, args...)}
}

// oneLine makes s one line, whatever a library or a file name put into it.
func oneLine(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\r' }), "; ")
}

// exitStatuses ends the help of every command. What refused means differs, so
// a command that refuses nothing leaves the line out.
func exitStatuses(refused string) string {
	s := "\n\nEXIT STATUS\n" +
		"  0  done\n" +
		"  1  failed, nothing changed\n" +
		"  2  wrong usage"
	if refused != "" {
		s += "\n  3  done, but " + refused + "; each is named on standard error"
	}
	return s
}
