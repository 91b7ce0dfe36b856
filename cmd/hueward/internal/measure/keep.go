package measure

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/book/naming"
	"hueward/selection/garden"
)

// keeper puts measured photos into the book. A nil keeper keeps nothing.
type keeper struct {
	b            *book.Book
	line, season string            // of new plants; of photos, "" when by their date
	now          string            // the present season
	known        map[string]string // lines of the plants in the book, by id in lower case
	onlyLine     bool              // the user said which line
	noLine       error             // why new plants that only a tag names cannot be taken; nil: they can
	kept, again  int
	unmeasured   int // of those that had been there: measured before, and not again
	unknown      int // of those kept: which plant they show is not known
	seasons      map[string]int
}

// keeper opens the book that the photos go into, and makes sure before any
// work that each new plant's line is known. It is nil without a book.
func (a *app) keeper(ctx context.Context, o *measureOptions, jobs []colorimg.Job) (*keeper, error) {
	if o.noBook {
		return nil, nil
	}
	b, err := a.OpenBook(ctx)
	if errors.Is(err, book.ErrNoBook) && !a.BookNamed() {
		for _, f := range [][2]string{{"line", o.line}, {"season", o.season}} {
			if f[1] != "" {
				return nil, cli.Usagef("--%s goes with a book, and there is none here; start one: hueward new DIR", f[0])
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
	return &keeper{b: b, season: season, known: map[string]string{}, seasons: map[string]int{}}
}

// prepare learns which plants the book has, and the line and season of others.
func (k *keeper) prepare(ctx context.Context, a *app, o *measureOptions, jobs []colorimg.Job) error {
	plants, err := k.b.Plants(ctx, book.PlantFilter{})
	if err != nil {
		return err
	}
	for _, p := range plants {
		k.known[strings.ToLower(p.ID)] = p.Line
	}
	if k.now, err = garden.SeasonNow(ctx, k.b, o.season, a.Now()); err != nil {
		return err
	}
	fresh := false // a plant is named that the book does not know
	for i := range jobs {
		j := &jobs[i]
		name := j.Plant
		if name == "" {
			name = j.Guess
		}
		if name == "" {
			// A folder says little of a photo that was named by itself, unless
			// it is called like a plant of this book.
			dir, err := naming.CleanID(filepath.Base(filepath.Dir(absolute(j.File))))
			if err == nil && k.known[strings.ToLower(dir)] != "" {
				j.Guess, name = dir, dir
			}
		}
		id, err := naming.CleanID(name)
		fresh = fresh || err == nil && k.known[strings.ToLower(id)] == ""
	}
	line, err := garden.LineNamed(ctx, k.b, o.line)
	var which *garden.AskError
	switch {
	case err == nil:
	case !fresh && o.line == "" && errors.As(err, &which):
		k.noLine = fmt.Errorf("%w with --line", err)
		return nil
	case !fresh && o.line == "" && errors.Is(err, garden.ErrNoLine):
		k.noLine = err
		return nil
	default:
		return err
	}
	k.line, k.onlyLine = line.Name, o.line != ""
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
	plant, unkept := k.plantOf(r)
	if unkept != "" {
		if r.Refused == nil {
			oc.unkept = unkept
		}
		return nil
	}
	if plant == "" && r.Refused != nil {
		return nil // nothing to assign later
	}
	season := k.season
	if season == "" {
		var taken time.Time
		if t := r.Reading.TakenAt; t != nil {
			taken = t.Time
		}
		season = garden.SeasonOfPhoto(taken, k.now)
	}
	e := book.Entry{File: r.Job.File, Season: season, Plant: plant, Reading: r.Reading}
	switch line := k.known[strings.ToLower(plant)]; {
	case plant == "": // kept without
	case line == "":
		e.Line = k.line
	case k.onlyLine && line != k.line:
		oc.unkept = fmt.Sprintf("plant %s belongs to line %s, not %s", plant, line, k.line)
		return nil
	}
	rec, err := k.b.Record(ctx, e)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Job.File, err)
	}
	if rec.NewPlant {
		k.known[strings.ToLower(plant)] = k.line
	}
	if rec.Photo.Plant == "" {
		k.unknown++
	}
	if p := rec.Photo.Plant; plant != "" && !strings.EqualFold(p, plant) {
		oc.unkept = fmt.Sprintf("the same photo is in the book already, as one of plant %s; see which of the two it shows", p)
		return nil
	}
	oc.kept = rec
	k.kept++
	k.seasons[rec.Photo.Season]++
	if rec.Duplicate {
		k.again++
	}
	return nil
}

// plantOf is the plant that a measured photo shows, as said, as its tag names
// it, or as guessed; or why it cannot be kept under that name.
func (k *keeper) plantOf(r colorimg.Result) (plant, unkept string) {
	if r.Reading.Plant == nil {
		return "", "" // kept, and assigned later
	}
	name := *r.Reading.Plant
	tagged := r.Job.Plant == "" && name != r.Job.Guess
	plant, err := naming.CleanID(name)
	switch {
	case err != nil && tagged:
		return "", "the tag in the picture says " + err.Error() + "; or name the plant with --plant"
	case err != nil:
		return "", "plant " + err.Error()
	case tagged && k.noLine != nil && k.known[strings.ToLower(plant)] == "":
		return "", fmt.Sprintf("plant %s, which the tag in the picture names, is new; %v", plant, k.noLine)
	}
	return plant, ""
}

// summary says what went into the book, in a sentence.
func (k *keeper) summary() string {
	s := fmt.Sprintf("%s kept in %s", words.Count(k.kept, "photo"), k.b.Dir())
	var names []string
	for name := range k.seasons {
		names = append(names, name)
	}
	if len(names) == 1 {
		s += ", season " + names[0]
	}
	if k.again > 0 {
		s += fmt.Sprintf("; %d of them had been there already", k.again)
		if k.unmeasured > 0 {
			s += fmt.Sprintf(", %d measured as they would be today and not again (--again measures them)", k.unmeasured)
		}
	}
	s += "."
	if k.unknown > 0 {
		s += fmt.Sprintf(" Of %s it is not known which plant they show; say so: hueward photos assign.", words.Count(k.unknown, "photo"))
	}
	return s
}
