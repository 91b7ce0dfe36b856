package garden

import "fmt"

// AskError says that what was asked for cannot be understood, or could mean several
// things: nothing is wrong with the book.
type AskError struct{ err error }

func (e *AskError) Error() string { return e.err.Error() }
func (e *AskError) Unwrap() error { return e.err }

func askf(format string, args ...any) error { return &AskError{fmt.Errorf(format, args...)} }

// TraitError says what is wrong with a trait that a plant must have, or that counts too.
type TraitError struct {
	Typed string // such as "form>=3" or "form=0.5"
	Weigh bool   // it was to count, not to be had
	Err   error
}

func (e *TraitError) Error() string { return fmt.Sprintf("%q: %v", e.Typed, e.Err) }

// Unwrap is the error without the trait; it may have a remedy.
func (e *TraitError) Unwrap() error { return e.Err }

func askTrait(typed string, weigh bool, err error) error {
	return &AskError{&TraitError{typed, weigh, err}}
}
