// Package remedy names the steps that mend a mistake, so that each user interface, the
// command line and the page, can describe them in its own words.
//
// An error of the book says in neutral words what is wrong and what to do; its remedy
// says by which step. [Of] finds it.
package remedy

import (
	"errors"
	"fmt"
)

// Code names a step that mends something.
type Code string

// The steps, and their values.
const (
	NewBook      Code = "new book"
	SetTarget    Code = "set a line's target" // the line; none: any
	NamePlants   Code = "name the plants"
	SayBetter    Code = "say which way of a trait is better" // the trait
	Restore      Code = "restore a backup"
	BackUp       Code = "make a backup"
	Check        Code = "check the book"
	History      Code = "look at the history"
	SayLine      Code = "name the line"
	SaySeeds     Code = "say how many seeds"
	StartTest    Code = "start a germination test"
	FixHead      Code = "correct a head"     // the head
	SayCross     Code = "say a head's cross" // the head
	Harvest      Code = "harvest a head"     // the head
	FixCross     Code = "correct a cross"
	FixParents   Code = "correct parents"          // the plant
	FixPhotos    Code = "look at a plant's photos" // the plant
	SayTrait     Code = "say what a trait is"      // the trait
	Replace      Code = "replace an export"
	Update       Code = "change the book's rows"
	Ignore       Code = "leave a column out"                           // the column
	TraitOrNot   Code = "say what a trait is, or leave its column out" // the trait, the column
	SayTable     Code = "say which table it is"                        // the tables
	MergePlants  Code = "make one plant of two"                        // the plant, the other
	ForgetCamera Code = "forget a camera's model"
)

// Remedy is a step with its values.
type Remedy struct {
	Code   Code
	Values []any
}

// Step returns the remedy of that step and values.
func Step(code Code, values ...any) Remedy { return Remedy{code, values} }

// Error is an error with its remedy.
type Error struct {
	Err error
	Remedy
}

func (e *Error) Error() string { return e.Err.Error() }

// How returns the remedy.
func (e *Error) How() Remedy { return e.Remedy }

// Unwrap returns the error without its remedy.
func (e *Error) Unwrap() error { return e.Err }

// Errorf is fmt.Errorf with a remedy; the text must read well without it.
func (r Remedy) Errorf(format string, args ...any) error {
	return &Error{fmt.Errorf(format, args...), r}
}

// Of returns the remedy of the first error in err's chain that has one.
func Of(err error) (r Remedy, ok bool) {
	var e interface{ How() Remedy }
	if errors.As(err, &e) {
		r = e.How()
	}
	return r, r.Code != ""
}
