package garden

import "fmt"

// AskError says that what was asked for cannot be understood, or could mean several
// things: nothing is wrong with the book.
type AskError struct{ err error }

func (e *AskError) Error() string { return e.err.Error() }
func (e *AskError) Unwrap() error { return e.err }

func askf(format string, args ...any) error { return &AskError{fmt.Errorf(format, args...)} }
