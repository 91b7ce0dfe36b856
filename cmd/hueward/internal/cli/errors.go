package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"hueward/cmd/hueward/internal/terminal"
)

// ErrRefused says that the work was done, but that some inputs were refused.
// Each of them has been named on standard error already, see [App.Refuse].
var ErrRefused = errors.New("some inputs were refused")

// ErrNothing says that no input could be read at all and nothing was done.
// Each of them has been named on standard error already.
var ErrNothing = errors.New("no input could be read")

// PartError is what stopped a command that had changed something before.
type PartError struct{ Err error }

func (e *PartError) Error() string { return e.Err.Error() }
func (e *PartError) Unwrap() error { return e.Err }

// UsageError is a command line that cannot be understood.
type UsageError struct{ Err error }

func (e *UsageError) Error() string { return e.Err.Error() }
func (e *UsageError) Unwrap() error { return e.Err }

// Usagef is fmt.Errorf as a [UsageError].
func Usagef(format string, args ...any) error {
	return &UsageError{fmt.Errorf(format, args...)}
}

// OneLine makes s one line, whatever a library or a file name put into it.
func OneLine(s string) string {
	s = terminal.Plain(strings.ReplaceAll(s, "\r", "\n"))
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\r' }), "; ")
}

// ReasonOf is a file-system error without the path, which the line it stands in names already.
func ReasonOf(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// ExitStatuses ends the help of every command. What refused means differs, so
// a command that refuses nothing leaves the line out.
func ExitStatuses(refused string) string {
	s := "\n\nEXIT STATUS\n" +
		"  0  done\n" +
		"  1  failed, nothing changed\n" +
		"  2  wrong usage"
	if refused != "" {
		s += "\n  3  done, but " + refused + "; each is named on standard error"
	}
	return s
}
