// Package intake holds the rules by which measured photos come into the book: which plant a photo shows, which season
// and line it belongs to, and when it is not kept. Commands and page both ask here, so that a photo lands in the same
// place whoever brings it.
//
// Start with [Open]; [Intake.Keep] then keeps one photo. The rules:
//
//   - The plant is the one that the grower named; else the one whose tag is in the
//     picture; else the one that folder or file name suggest; else it is not known, and
//     the photo is kept without a plant.
//   - A plant that the book does not know is added: to the line that was named, else
//     to the book's only line. Where the line is not known, a plant that was named or
//     tagged is a [Problem]; a name that was only guessed is left out, and the photo kept.
//   - A name in the book's own form whose check letter does not match is a misread tag: a
//     [Problem], or, where it was only guessed, left out.
//   - Plants that were added are reported: see [Intake.Told].
//   - A plant of another line than the one that was named is a [Problem].
//   - The season is the one named, else that of the photo's date. A date in the future means that the camera's clock is
//     wrong, and does not count. Such dates, and past seasons that are new to the book, are reported.
//   - A photo that is in the book stays with its plant; another one named is a [Problem].
//   - A photo that could not be measured and of which no plant is known is kept only
//     where its card and bloom can be pointed out afterwards.
//
// A problem has a code and values; commands and page put it into their own words.
package intake

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/garden"
)

// Options say where photos go. With the zero value, the book and the photos decide.
type Options struct {
	Line   string    // of plants that are new; empty: the book's only one
	Only   bool      // Line was named by the grower: plants of other lines are not meant
	Season string    // of all photos; empty: by their dates
	Now    time.Time // the present time; zero: not known
}

// Intake takes photos into one book. It is made by [Open].
type Intake struct {
	b      *book.Book
	opt    Options
	line   string // of new plants; empty: see noLine
	noLine error
	now    string // the present season

	seasons map[string]bool // seasons that need no report: those of the book, and the present one

	added, misread []string // plants added so far; why guesses were left out
	odd            []string // reports on photos with unexpected dates
}

// Open returns an Intake for a book. A line that was named and is not in the book is an error here. Where the line of new
// plants is not known, [Intake.LineOfNew] says so, and Keep does when a plant needs it.
func Open(ctx context.Context, b *book.Book, opt *Options) (*Intake, error) {
	in := &Intake{b: b, opt: *opt}
	var err error
	if in.now, err = garden.SeasonNow(ctx, b, opt.Season, opt.Now); err != nil {
		return nil, err
	}
	had, err := b.Seasons(ctx)
	if err != nil {
		return nil, err
	}
	in.seasons = map[string]bool{in.now: true, strconv.Itoa(opt.Now.Year()): true}
	for _, s := range had {
		in.seasons[s] = true
	}
	line, err := garden.LineNamed(ctx, b, opt.Line)
	var which *garden.AskError
	switch {
	case err == nil:
		in.line = line.Name
	case opt.Line == "" && (errors.As(err, &which) || errors.Is(err, garden.ErrNoLine)):
		in.noLine = err
	default:
		return nil, err
	}
	return in, nil
}

// LineOfNew returns the line that new plants are added to, or an error that says why it is not known.
func (in *Intake) LineOfNew() (string, error) { return in.line, in.noLine }

// Knows reports whether the book has a plant of that name.
func (in *Intake) Knows(ctx context.Context, name string) (bool, error) {
	p, err := in.plant(ctx, name)
	return p != nil, err
}

// plant returns the plant of that name, given with or without its check letter; nil when the book has none.
func (in *Intake) plant(ctx context.Context, name string) (*book.Plant, error) {
	full, err := in.b.One(ctx, name)
	if errors.Is(err, book.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return in.b.Plant(ctx, full)
}

// Told returns messages, one line each, on plants that were added, such as "2 new plants: M-99, m06; did you mean M-06?",
// on names that were left out, and on photos with unexpected dates.
func (in *Intake) Told(ctx context.Context) (lines []string, err error) {
	added, err := NewPlants(ctx, in.b, in.added)
	if err != nil {
		return nil, err
	}
	if added != "" {
		lines = append(lines, added)
	}
	if len(in.misread) > 0 {
		lines = append(lines, strings.Join(in.misread, "; ")+"; kept without a plant")
	}
	return append(lines, in.odd...), nil
}

// dated returns the season of a photo by its date, and reports unexpected dates.
func (in *Intake) dated(taken time.Time) string {
	season, tell := garden.SeasonOfPhoto(taken, in.now), ""
	switch {
	case !in.opt.Now.IsZero() && taken.After(in.opt.Now.AddDate(0, 0, 2)):
		season = in.now
		tell = fmt.Sprintf("the camera's clock was wrong: it says a photo was taken on %s; such photos are kept in season %s",
			taken.Format(time.DateOnly), season)
	case !in.seasons[season]:
		tell = fmt.Sprintf("season %s is new to the book, by the camera's clock; if that is wrong, take this back and name the season", season)
	}
	if in.seasons[season] = true; tell != "" && !slices.Contains(in.odd, tell) {
		in.odd = append(in.odd, tell)
	}
	return season
}

// Guess returns the plant that a photo's place suggests: see [naming.PlantOf]. root is the folder that was searched;
// empty: only the file's name counts. Where the name says nothing, the photo's folder counts if it is
// called like a plant of the book. Empty: nothing suggests a plant.
func (in *Intake) Guess(ctx context.Context, file, root string) (string, error) {
	if plant, ok := naming.PlantOf(file, root); ok || root == "" {
		return plant, nil
	}
	if abs, err := filepath.Abs(file); err == nil {
		file = abs
	}
	dir, err := naming.CleanID(filepath.Base(filepath.Dir(file)))
	if err != nil {
		return "", nil
	}
	known, err := in.Knows(ctx, dir)
	if !known {
		dir = ""
	}
	return dir, err
}

// Photo is what is known about one photo.
type Photo struct {
	Said     string    // the plant that the grower named; empty: none
	Tag      string    // the plant that the tag in the picture names, or one photographed before it
	Guess    string    // the plant that folder or file name suggest
	Taken    time.Time // zero: not known
	Measured bool      // its petals have a colour
	Mendable bool      // the user can point out card and bloom later
}

// Plant returns the plant's name by the first source that has one, as it was given; empty: none has.
func (p *Photo) Plant() string {
	for _, name := range [...]string{p.Said, p.Tag, p.Guess} {
		if name = strings.TrimSpace(name); name != "" {
			return name
		}
	}
	return ""
}

// tagged reports whether the tag says the plant.
func (p *Photo) tagged() bool { return strings.TrimSpace(p.Said) == "" && p.Tag != "" }

// guessed reports whether only the file's name or folder says the plant.
func (p *Photo) guessed() bool { return strings.TrimSpace(p.Said) == "" && p.Tag == "" }

// Code is what keeps a photo out of the book.
type Code string

// The codes of a [Problem].
const (
	BadName    Code = "bad-name"    // Plant is no usable name; Err says why
	Misread    Code = "misread"     // the check letter of Plant does not match; Err says so
	NewNoLine  Code = "no-line"     // Plant is new, and its line is not known; Err says why
	OtherLine  Code = "other-line"  // Plant belongs to Line, and Want was named
	OtherPlant Code = "other-plant" // the same photo is in the book as one of Plant, and Want was named
	Unmeasured Code = "unmeasured"  // no plant is known, and there is no reading either
)

// Problem is why a photo is not kept. The book is not changed, except that with OtherPlant
// the photo, which it has already, gets one more reading.
type Problem struct {
	Code              Code
	Plant, Line, Want string
	Tagged            bool // the tag in the picture named the plant
	Err               error
}

func (p *Problem) Error() string {
	switch p.Code {
	case BadName:
		return "plant " + p.Err.Error()
	case Misread:
		return p.Err.Error()
	case NewNoLine:
		return fmt.Sprintf("plant %s is new; %v", p.Plant, p.Err)
	case OtherLine:
		return fmt.Sprintf("plant %s belongs to line %s, not %s", p.Plant, p.Line, p.Want)
	case OtherPlant:
		return fmt.Sprintf("the same photo is in the book already, as one of plant %s, not %s", p.Plant, p.Want)
	}
	return "neither its plant nor its colour is known"
}

func (p *Problem) Unwrap() error { return p.Err }

// Place fills in the plant, line and season under which e is kept. The error may be a *[Problem].
func (in *Intake) Place(ctx context.Context, e *book.Entry, p Photo) error {
	if e.Season = in.opt.Season; e.Season == "" {
		e.Season = in.dated(p.Taken)
	}
	name := p.Plant()
	if name == "" {
		return in.without(e, &p)
	}
	id, err := naming.CleanID(name)
	if err != nil {
		return &Problem{Code: BadName, Plant: name, Tagged: p.tagged(), Err: err}
	}
	known, err := in.plant(ctx, id)
	if err == nil && known == nil {
		_, err = in.b.New(ctx, id)
	}
	switch {
	case errors.Is(err, naming.ErrMistyped) && p.guessed():
		if s := err.Error(); !slices.Contains(in.misread, s) {
			in.misread = append(in.misread, s)
		}
		return in.without(e, &p)
	case errors.Is(err, naming.ErrMistyped):
		return &Problem{Code: Misread, Plant: id, Tagged: p.tagged(), Err: err}
	case errors.Is(err, record.ErrNone):
		return &Problem{Code: BadName, Plant: id, Tagged: p.tagged(), Err: fmt.Errorf("%q: %w", id, record.ErrNone)}
	case err != nil:
		return err
	case known == nil && in.noLine != nil && p.guessed():
		return in.without(e, &p)
	case known == nil && in.noLine != nil:
		return &Problem{Code: NewNoLine, Plant: id, Tagged: p.tagged(), Err: in.noLine}
	case known == nil:
		e.Line = in.line
	case in.opt.Only && known.Line != in.line:
		return &Problem{Code: OtherLine, Plant: known.ID, Line: known.Line, Want: in.line}
	}
	if e.Plant = id; known != nil {
		e.Plant = known.ID
	}
	return nil
}

// without clears e's plant and line, to keep the photo without; a photo that would be of no use is a Problem.
func (in *Intake) without(e *book.Entry, p *Photo) error {
	if !p.Measured && !p.Mendable {
		return &Problem{Code: Unmeasured}
	}
	e.Plant, e.Line = "", ""
	return nil
}

// Keep records one photo in the book; e names its file and reading. The error may be a *[Problem], which concerns this
// photo alone; any other error, such as a full disk, should stop the work.
func (in *Intake) Keep(ctx context.Context, e book.Entry, p Photo) (*book.Recorded, error) {
	if err := in.Place(ctx, &e, p); err != nil {
		return nil, err
	}
	rec, err := in.b.Record(ctx, e)
	if err != nil {
		return nil, err
	}
	if rec.NewPlant {
		in.added = append(in.added, rec.Photo.Plant)
	}
	if now := rec.Photo.Plant; e.Plant != "" && !strings.EqualFold(now, e.Plant) {
		return rec, &Problem{Code: OtherPlant, Plant: now, Want: e.Plant}
	}
	return rec, nil
}
