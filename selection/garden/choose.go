package garden

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/remedy"
)

// ErrNoLine is returned where a book has no line yet.
var ErrNoLine = remedy.Step(remedy.SetTarget, "LINE").Errorf("the book has no line yet; start one")

// LineNamed returns the line of that name, or, when name is empty, the book's
// only line. With several lines the user has to say which: an [AskError].
func LineNamed(ctx context.Context, b *book.Book, name string) (*book.Line, error) {
	lines, err := b.Lines(ctx)
	if err != nil {
		return nil, err
	}
	if name != "" {
		l, err := b.Line(ctx, name)
		if errors.Is(err, book.ErrNotFound) && len(lines) > 0 {
			return nil, fmt.Errorf("line %q is not in the book; it has %s", name, LineNames(lines))
		}
		return l, err
	}
	switch len(lines) {
	case 0:
		return nil, ErrNoLine
	case 1:
		return &lines[0], nil
	}
	return nil, askf("which line? the book has %s; name one", LineNames(lines))
}

// LineNames lists lines as a shell would want them.
func LineNames(lines []book.Line) string {
	var names []string
	for _, l := range lines {
		n := l.Name
		if strings.ContainsAny(n, " \t'\"$\\&;") {
			n = strconv.Quote(n)
		}
		names = append(names, n)
	}
	return strings.Join(names, ", ")
}

// SeasonWithReadings returns the season named, or the newest in which the line
// has readings, or the book's newest; empty when it has none.
func SeasonWithReadings(ctx context.Context, b *book.Book, line, name string) (string, error) {
	seasons, err := b.Seasons(ctx)
	if err != nil {
		return "", err
	}
	if name != "" {
		if i := slices.IndexFunc(seasons, func(s string) bool { return strings.EqualFold(s, name) }); i >= 0 {
			return seasons[i], nil
		}
		return "", fmt.Errorf("season %q is not in the book; it has %s", name, cmp.Or(strings.Join(seasons, ", "), "none yet"))
	}
	for _, s := range slices.Backward(seasons) {
		if any, err := b.HasReadings(ctx, line, s); any || err != nil {
			return s, err
		}
	}
	return newest(seasons), nil
}

// newest is the last of the seasons; empty: there is none.
func newest(seasons []string) string {
	if len(seasons) == 0 {
		return ""
	}
	return seasons[len(seasons)-1]
}

// LineFilter is the name of the line that a listing is of, as the book has it; an empty one stays empty: all lines.
func LineFilter(ctx context.Context, b *book.Book, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	line, err := LineNamed(ctx, b, name)
	if err != nil {
		return "", err
	}
	return line.Name, nil
}

// SeasonNow is the season that new plants belong to: the one named, or the book's newest, or the year of the clock.
func SeasonNow(ctx context.Context, b *book.Book, name string, now time.Time) (string, error) {
	if name != "" {
		return name, nil
	}
	seasons, err := b.Seasons(ctx)
	return cmp.Or(newest(seasons), strconv.Itoa(now.Year())), err
}

// SeasonOn is the season of something done on a day: the one named, or where
// seasons are years the day's, or the book's newest.
func SeasonOn(ctx context.Context, b *book.Book, name string, on, now time.Time) (string, error) {
	if name != "" {
		return name, nil
	}
	season, err := SeasonNow(ctx, b, "", now)
	return SeasonOfPhoto(on, season), err
}

// SeasonOfPhoto is the season of a photo taken then. A grower who names seasons by years gets the photo's own year;
// with other names ("2026-27") the year does not tell, and now, the present season, counts.
func SeasonOfPhoto(taken time.Time, now string) string {
	if _, err := strconv.Atoi(now); err == nil && len(now) == 4 && !taken.IsZero() {
		return strconv.Itoa(taken.Year())
	}
	return now
}

// Aimed is a line that has a target, and the season meant.
func Aimed(ctx context.Context, b *book.Book, name, season string) (*book.Line, string, error) {
	line, err := LineNamed(ctx, b, name)
	if err != nil {
		return nil, "", err
	}
	if line.Target == nil {
		return nil, "", remedy.Step(remedy.SetTarget, LineNames([]book.Line{*line})).Errorf("line %s has no target yet; set it", line.Name)
	}
	season, err = SeasonWithReadings(ctx, b, line.Name, season)
	return line, season, err
}

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
