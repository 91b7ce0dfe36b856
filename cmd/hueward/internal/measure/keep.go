package measure

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/cmd/hueward/internal/hints"
	"hueward/colorimg"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/intake"
)

// keeper puts measured photos into the book. A nil keeper keeps nothing.
type keeper struct {
	*intake.Intake
	b           *book.Book
	kept, again int
	unmeasured  int // of those that had been there: measured before, and not again
	unknown     int // of those kept: which plant they show is not known
	seasons     map[string]int
}

// keeper opens the book that the photos go into, and makes sure before any
// work that each new plant's line is known. It is nil without a book.
func (a *app) keeper(ctx context.Context, o *measureOptions, jobs []colorimg.Job, ins []input) (*keeper, error) {
	if o.noBook {
		guessPlants(ctx, nil, jobs, ins)
		return nil, nil
	}
	b, err := a.OpenBook(ctx)
	if errors.Is(err, book.ErrNoBook) && !a.BookNamed() {
		for _, f := range [][2]string{{"line", o.line}, {"season", o.season}} {
			if f[1] != "" {
				return nil, cli.Usagef("--%s needs a book, and there is none here; start one: hueward new DIR", f[0])
			}
		}
		if near := cli.NearBooks("."); len(near) > 0 {
			a.Warn("there is no book here, so nothing is kept; perhaps you mean %s; or confirm with --no-book", cli.BookFlag(near[0]))
		}
		guessPlants(ctx, nil, jobs, ins)
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	k, err := a.newKeeper(ctx, b, o, jobs, ins)
	if err != nil {
		b.Close()
	}
	return k, err
}

func (a *app) newKeeper(ctx context.Context, b *book.Book, o *measureOptions, jobs []colorimg.Job, ins []input) (*keeper, error) {
	in, err := intake.Open(ctx, b, &intake.Options{Line: o.line, Only: o.line != "", Season: o.season, Now: a.Now()})
	if err != nil {
		return nil, err
	}
	if err := guessPlants(ctx, in, jobs, ins); err != nil {
		return nil, err
	}
	k := &keeper{Intake: in, b: b, seasons: map[string]int{}}
	if _, noLine := in.LineOfNew(); noLine != nil {
		for i := range jobs {
			p := intake.Photo{Said: jobs[i].Plant, Guess: jobs[i].Guess}
			if id, err := naming.CleanID(p.Plant()); err == nil {
				isNew, err := b.New(ctx, id)
				if err != nil && !errors.Is(err, naming.ErrMistyped) {
					return nil, err
				}
				if isNew {
					return nil, noLine
				}
			}
		}
	}
	return k, nil
}

// guessPlants says of photos of which the grower did not say it which plant their
// folder or file name suggest; a tag in the picture goes before that. in may be nil.
func guessPlants(ctx context.Context, in *intake.Intake, jobs []colorimg.Job, ins []input) (err error) {
	for i := range jobs {
		switch j := &jobs[i]; {
		case j.Plant != "":
		case in == nil:
			j.Guess, _ = naming.PlantOf(j.File, ins[i].root)
		default:
			if j.Guess, err = in.Guess(ctx, j.File, ins[i].root); err != nil {
				return err
			}
		}
	}
	return nil
}

func (k *keeper) close() {
	if k != nil {
		k.b.Close()
	}
}

// factsOf is what intake wants to know of a measured photo.
func factsOf(r colorimg.Result) intake.Photo {
	p := intake.Photo{Said: r.Job.Plant, Guess: r.Job.Guess, Measured: r.Refused == nil}
	if n := r.Reading.Plant; n != nil && *n != p.Guess {
		p.Tag = *n // in a session perhaps that of the photo before
	}
	if t := r.Reading.TakenAt; t != nil {
		p.Taken = t.Time
	}
	return p
}

// keep records one photo and says in oc what became of it. A photo that could not even be read is not kept: there is
// nothing to keep. The error is one that stops the work, such as a full disk.
func (k *keeper) keep(ctx context.Context, r colorimg.Result, oc *outcome) error {
	if k == nil || r.Reading.SHA256 == "" {
		return nil
	}
	rec, err := k.Keep(ctx, book.Entry{File: r.Job.File, Reading: r.Reading}, factsOf(r))
	var why *intake.Problem
	switch {
	case errors.As(err, &why):
		if r.Refused == nil {
			oc.unkept = hints.Unkept(why)
		}
		return nil
	case errors.Is(err, book.ErrChanged):
		oc.changed = true
		if r.Refused == nil {
			oc.unkept = "it changed meanwhile; measure it again"
		}
		return nil
	case err != nil:
		return fmt.Errorf("%s: %w", r.Job.File, err)
	}
	if rec.Photo.Plant == "" {
		k.unknown++
	}
	oc.kept = rec
	k.kept++
	k.seasons[rec.Photo.Season]++
	if rec.Duplicate {
		k.again++
	}
	return nil
}

// tellNew tells of plants that were added, of names that were left out, and of photos that are in another season than was named.
func (m *measuring) tellNew(ctx context.Context) error {
	if m.keeper == nil {
		return nil
	}
	lines, err := m.keeper.Told(ctx)
	for _, season := range slices.Sorted(maps.Keys(m.keeper.seasons)) {
		if n := m.keeper.seasons[season]; m.o.season != "" && !strings.EqualFold(season, m.o.season) {
			lines = append(lines, fmt.Sprintf("season %s: %s kept there before, and not moved; to move them, take them out of the book first: "+
				"hueward photos remove", season, words.Count(n, "photo")))
		}
	}
	for _, s := range lines {
		if m.o.out.People() {
			m.Stdout.Say("", s)
		} else {
			m.Warn("%s", s)
		}
	}
	return err
}

// summary says what went into the book, in a sentence.
func (k *keeper) summary() string {
	s := fmt.Sprintf("%s kept in %s", words.Count(k.kept, "photo"), k.b.Dir())
	if len(k.seasons) == 1 {
		for name := range k.seasons {
			s += ", season " + name
		}
	}
	if k.again > 0 {
		s += fmt.Sprintf("; %d of them were there already", k.again)
		if k.unmeasured > 0 {
			s += fmt.Sprintf(", %d of them not measured again, as the method is the same (--again measures them)", k.unmeasured)
		}
	}
	s += "."
	if k.unknown > 0 {
		s += fmt.Sprintf(" The plant is not known for %s; name it: hueward photos assign.", words.Count(k.unknown, "photo"))
	}
	return s
}
