package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"hueward/colorimg"
	"hueward/selection/book"
)

// keeper puts measured photos into the book. A nil keeper keeps nothing.
type keeper struct {
	b            *book.Book
	line, season string // of new plants; of photos, "" when by their date
	now          string // the present season
	known        map[string]bool
	kept, again  int
	seasons      map[string]int
}

// keeper opens the book that the photos go into, and makes sure before any
// work that each new plant's line is known. It is nil without a book.
func (a *app) keeper(ctx context.Context, o *measureOptions, jobs []colorimg.Job) (*keeper, error) {
	if o.noBook {
		return nil, nil
	}
	b, err := a.openBook(ctx)
	if errors.Is(err, book.ErrNoBook) && !a.bookNamed() {
		for _, f := range [][2]string{{"line", o.line}, {"season", o.season}} {
			if f[1] != "" {
				return nil, usagef("--%s goes with a book, and there is none here; start one: hueward new DIR", f[0])
			}
		}
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	k := newKeeper(b, o.season)
	if err := k.prepare(ctx, a, o, jobs); err != nil {
		b.Close()
		return nil, err
	}
	return k, nil
}

func newKeeper(b *book.Book, season string) *keeper {
	return &keeper{b: b, season: season, known: map[string]bool{}, seasons: map[string]int{}}
}

// prepare learns which plants the book has, and the line and season of others.
func (k *keeper) prepare(ctx context.Context, a *app, o *measureOptions, jobs []colorimg.Job) error {
	plants, err := k.b.Plants(ctx, book.PlantFilter{})
	if err != nil {
		return err
	}
	for _, p := range plants {
		k.known[strings.ToLower(p.ID)] = true
	}
	if k.now, err = a.seasonNow(ctx, k.b, o.season); err != nil {
		return err
	}
	fresh := false
	for _, j := range jobs {
		fresh = fresh || j.Plant != "" && !k.known[strings.ToLower(j.Plant)]
	}
	if !fresh && o.line == "" {
		return nil
	}
	line, err := lineOf(ctx, k.b, o.line)
	if err != nil {
		return err
	}
	k.line = line.Name
	return nil
}

func (k *keeper) close() {
	if k != nil {
		k.b.Close()
	}
}

// keep records one photo and says in oc what became of it. A photo that could
// not even be read is not kept: there is nothing to keep. The error is one
// that stops the work, such as a full disk.
func (k *keeper) keep(ctx context.Context, r colorimg.Result, oc *outcome) error {
	if k == nil || r.Reading.SHA256 == "" {
		return nil
	}
	if r.Job.Plant == "" {
		if r.Refused == nil {
			oc.unkept = "which plant it shows is not known; say so by --plant ID, a --list FILE.csv, its folder's name, or a file name such as M-07_1.jpg"
		}
		return nil
	}
	season := k.season
	if season == "" {
		var taken time.Time
		if t := r.Reading.TakenAt; t != nil {
			taken = t.Time
		}
		season = seasonOfPhoto(taken, k.now)
	}
	e := book.Entry{File: r.Job.File, Season: season, Plant: r.Job.Plant, Reading: r.Reading}
	if !k.known[strings.ToLower(r.Job.Plant)] {
		e.Line = k.line
	}
	rec, err := k.b.Record(ctx, e)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Job.File, err)
	}
	oc.kept = rec
	k.kept++
	k.seasons[rec.Photo.Season]++
	if rec.Duplicate {
		k.again++
	}
	return nil
}

// summary says what went into the book, in a sentence.
func (k *keeper) summary() string {
	s := fmt.Sprintf("%s kept in %s", some(k.kept, "photo"), k.b.Dir())
	var names []string
	for name := range k.seasons {
		names = append(names, name)
	}
	if len(names) == 1 {
		s += ", season " + names[0]
	}
	if k.again > 0 {
		s += fmt.Sprintf("; %d of them had been there already", k.again)
	}
	return s + "."
}
