package book

import (
	"context"
	"time"

	"hueward/colorimg/cie"
	"hueward/selection"
)

// Aim is what a line is bred for.
type Aim string

// A line is moved toward a shade, or held true at it.
const (
	Move Aim = "move"
	Hold Aim = "hold"
)

// Line is a line or variety with the target that counts now.
type Line struct {
	Name   string
	Note   string
	Target *Target // nil: none set yet
	Plants int     // plants of all seasons
}

// Target is one setting of a line's aim and shade. Setting a new one keeps
// the old in the line's history.
type Target struct {
	Aim      Aim
	Lab      cie.Lab
	Within   float64 // tolerance, Delta E 2000; above 0
	Source   string  // "--lab", "--hex", "photo IMG_0412.jpg"
	Measured bool    // from a photo taken as the plants' are
	SetAt    time.Time
}

// Selection returns t as what plants are ranked by.
func (t Target) Selection() selection.Target {
	return selection.Target{Lab: t.Lab, Within: t.Within, Source: t.Source, Measured: t.Measured}
}

// AddLine adds a line without a target. It returns ErrDuplicate when there is one of that name.
func (b *Book) AddLine(ctx context.Context, name, note string) error { panic("not yet") }

// Line returns the line of that name, whatever its case, or ErrNotFound.
func (b *Book) Line(ctx context.Context, name string) (*Line, error) { panic("not yet") }

// Lines returns all lines in natural order of name.
func (b *Book) Lines(ctx context.Context) ([]Line, error) { panic("not yet") }

// SetTarget sets the line's target, adding the line when it is new. SetAt is the book's clock.
func (b *Book) SetTarget(ctx context.Context, line string, t Target) error { panic("not yet") }

// Targets returns every target the line ever had, newest first.
func (b *Book) Targets(ctx context.Context, line string) ([]Target, error) { panic("not yet") }

// EnsureSeason adds the season ("2026") when it is new.
func (b *Book) EnsureSeason(ctx context.Context, name string) error { panic("not yet") }

// Seasons returns the names of all seasons in natural order.
func (b *Book) Seasons(ctx context.Context) ([]string, error) { panic("not yet") }
