package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book"
)

var errNoLine = errors.New("the book has no line yet; start one: hueward target LINE --lab L,a,b")

// lineOf returns the line of that name, or, when name is empty, the book's
// only line. With several lines the user has to say which.
func lineOf(ctx context.Context, b *book.Book, name string) (*book.Line, error) {
	lines, err := b.Lines(ctx)
	if err != nil {
		return nil, err
	}
	if name != "" {
		l, err := b.Line(ctx, name)
		if errors.Is(err, book.ErrNotFound) && len(lines) > 0 {
			return nil, fmt.Errorf("line %q is not in the book; it has %s", name, lineNames(lines))
		}
		return l, err
	}
	switch len(lines) {
	case 0:
		return nil, errNoLine
	case 1:
		return &lines[0], nil
	}
	return nil, usagef("which line? the book has %s; name one", lineNames(lines))
}

// lineNames lists lines as a shell would want them.
func lineNames(lines []book.Line) string {
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

// seasonWithReadings returns the season named, or the newest in which the line
// has readings, or the book's newest; empty when it has none.
func seasonWithReadings(ctx context.Context, b *book.Book, line, name string) (string, error) {
	seasons, err := b.Seasons(ctx)
	if err != nil {
		return "", err
	}
	if name != "" {
		for _, s := range seasons {
			if strings.EqualFold(s, name) {
				return s, nil
			}
		}
		if len(seasons) == 0 {
			return "", fmt.Errorf("season %q is not in the book; it has none yet", name)
		}
		return "", fmt.Errorf("season %q is not in the book; it has %s", name, strings.Join(seasons, ", "))
	}
	for i := len(seasons) - 1; i >= 0; i-- {
		rs, err := b.Readings(ctx, line, seasons[i])
		if err != nil {
			return "", err
		}
		if len(rs) > 0 {
			return seasons[i], nil
		}
	}
	if len(seasons) == 0 {
		return "", nil
	}
	return seasons[len(seasons)-1], nil
}

// lineFilter is the name of the line that a listing is of, as the book has it; an
// empty one stays empty: all lines.
func lineFilter(ctx context.Context, b *book.Book, name string) (string, error) {
	if name == "" {
		return "", nil
	}
	line, err := lineOf(ctx, b, name)
	if err != nil {
		return "", err
	}
	return line.Name, nil
}

// seasonNow is the season that new plants belong to: the one named, or the
// book's newest, or the year of the clock.
func (a *app) seasonNow(ctx context.Context, b *book.Book, name string) (string, error) {
	if name != "" {
		return name, nil
	}
	seasons, err := b.Seasons(ctx)
	if err != nil {
		return "", err
	}
	if len(seasons) > 0 {
		return seasons[len(seasons)-1], nil
	}
	return strconv.Itoa(a.now().Year()), nil
}

// seasonOfPhoto is the season of a photo taken then. A grower who names
// seasons by years gets the photo's own year; with other names ("2026-27") the
// year does not tell, and now, the present season, counts.
func seasonOfPhoto(taken time.Time, now string) string {
	if _, err := strconv.Atoi(now); err == nil && len(now) == 4 && !taken.IsZero() {
		return strconv.Itoa(taken.Year())
	}
	return now
}

// aimed is a line that has a target, and the season meant.
func aimed(ctx context.Context, b *book.Book, name, season string) (*book.Line, string, error) {
	line, err := lineOf(ctx, b, name)
	if err != nil {
		return nil, "", err
	}
	if line.Target == nil {
		return nil, "", fmt.Errorf("line %s has no target yet; set it: hueward target %s --lab L,a,b", line.Name, lineNames([]book.Line{*line}))
	}
	season, err = seasonWithReadings(ctx, b, line.Name, season)
	return line, season, err
}
