package book

import (
	"context"
	"errors"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// Unassigned returns the photos of which it is not known which plant they
// show, in natural order of season and name.
func (b *Book) Unassigned(ctx context.Context) ([]Photo, error) {
	all, err := b.Photos(ctx, "", "")
	return slices.DeleteFunc(all, func(p Photo) bool { return p.Plant != "" }), err
}

// FindPhoto returns the photo that was typed: by its number ("#17" or "17"), its path in
// the book, or the file name that it came with. Of several photos of one name
// those without a plant are meant. It returns ErrNotFound, or an error that
// names the numbers to choose from.
func (b *Book) FindPhoto(ctx context.Context, typed string) (*Photo, error) {
	typed = strings.TrimSpace(typed)
	if n, err := strconv.ParseInt(strings.TrimPrefix(typed, "#"), 10, 64); err == nil {
		if p, err := b.PhotoNumber(ctx, n); !errors.Is(err, ErrNotFound) {
			return p, err
		}
	}
	name := strings.ReplaceAll(typed, `\`, "/")
	found, err := record.Photos(ctx, b.from, "WHERE f.path = ?", path.Clean(name))
	if err == nil && len(found) == 0 {
		found, err = record.Photos(ctx, b.from, "WHERE lower(f.name) = lower(?) ORDER BY f.id", path.Base(name))
	}
	if free := slices.DeleteFunc(slices.Clone(found), func(p Photo) bool { return p.Plant != "" }); len(free) == 1 {
		found = free
	}
	if len(found) < 2 {
		return record.One(found, err, "photo %q", typed)
	}
	var numbers []string
	for _, p := range found {
		numbers = append(numbers, fmt.Sprintf("#%d", p.ID))
	}
	return nil, fmt.Errorf("photo %q: there are %d of that name; say which by its number: %s", typed, len(found), strings.Join(numbers, ", "))
}

// Assignee is a photo and the plant that it shows.
type Assignee struct {
	Photo int64
	Plant string
}

// AssignPhotos says which plants photos show, of all of them or of none. Their
// readings stay: nothing is measured again. A plant that is new is added to the
// line, which may be empty where none is, in the photo's season. It returns how
// many photos were given another plant than they had.
func (b *Book) AssignPhotos(ctx context.Context, line string, to ...Assignee) (changed int, err error) {
	err = b.Change(ctx, func(t *record.Tx) string {
		for _, a := range to {
			changed += b.assignPhoto(t, line, a)
		}
		if len(to) == 1 {
			return fmt.Sprintf("photo #%d shows %s", to[0].Photo, to[0].Plant)
		}
		return fmt.Sprintf("%d photos given their plants", changed)
	})
	return changed, err
}

func (b *Book) assignPhoto(t *record.Tx, line string, a Assignee) (changed int) {
	var season string
	if !t.Get("SELECT s.name FROM photo f JOIN season s ON s.id = f.season_id WHERE f.id = ?", a.Photo).Found(&season) {
		t.Failf("photo #%d: %w", a.Photo, ErrNotFound)
	}
	if t.Err() != nil {
		return 0
	}
	row, name, err := record.Find(context.Background(), t, "plant", a.Plant)
	switch {
	case err == nil && line != "":
		var of string
		t.Get("SELECT n.name FROM plant p JOIN line n ON n.id = p.line_id WHERE p.id = ?", row).Into(&of)
		if naming.Key(of) != naming.Key(line) {
			t.Failf("plant %q belongs to line %q, not %q", name, of, line)
		}
	case errors.Is(err, ErrNotFound) && line != "":
		row, _ = b.insertPlant(t, Plant{ID: t.FreeID(a.Plant), Line: line, Season: season})
	case errors.Is(err, ErrNotFound):
		t.Failf("%w; a new plant needs its line", err)
	default:
		t.Fail(err)
	}
	return int(t.Do("UPDATE photo SET plant_id = ?1 WHERE id = ?2 AND plant_id IS NOT ?1", row, a.Photo))
}
