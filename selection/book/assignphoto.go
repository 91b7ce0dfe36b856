package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path"
	"strconv"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// Unassigned returns the photos of which it is not known which plant they
// show, in natural order of season and name.
func (b *Book) Unassigned(ctx context.Context) ([]Photo, error) {
	all, err := b.Photos(ctx, "", "")
	if err != nil {
		return nil, err
	}
	out := []Photo{}
	for _, p := range all {
		if p.Plant == "" {
			out = append(out, p)
		}
	}
	return out, nil
}

// FindPhoto returns the photo that was typed: by its number ("#17" or "17"), its path in
// the book, or the file name that it came with. Of several photos of one name
// those without a plant are meant. It returns ErrNotFound, or an error that
// names the numbers to choose from.
func (b *Book) FindPhoto(ctx context.Context, typed string) (*Photo, error) {
	typed = strings.TrimSpace(typed)
	if n, err := strconv.ParseInt(strings.TrimPrefix(typed, "#"), 10, 64); err == nil {
		if found, err := record.Photos(ctx, b.from, "WHERE f.id = ?", n); err != nil || len(found) == 1 {
			return only(found, err)
		}
	}
	name := strings.ReplaceAll(typed, `\`, "/")
	found, err := record.Photos(ctx, b.from, "WHERE f.path = ?", path.Clean(name))
	if err != nil || len(found) == 1 {
		return only(found, err)
	}
	if found, err = record.Photos(ctx, b.from, "WHERE lower(f.name) = lower(?) ORDER BY f.id", path.Base(name)); err != nil {
		return nil, err
	}
	var free []Photo
	for _, p := range found {
		if p.Plant == "" {
			free = append(free, p)
		}
	}
	if len(free) == 1 {
		found = free
	}
	switch len(found) {
	case 0:
		return nil, fmt.Errorf("photo %q: %w", typed, ErrNotFound)
	case 1:
		return &found[0], nil
	}
	var numbers []string
	for _, p := range found {
		numbers = append(numbers, fmt.Sprintf("#%d", p.ID))
	}
	return nil, fmt.Errorf("photo %q: there are %d of that name; say which by its number: %s", typed, len(found), strings.Join(numbers, ", "))
}

func only(found []Photo, err error) (*Photo, error) {
	if err != nil {
		return nil, err
	}
	return &found[0], nil
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
	err = b.change(ctx, func(tx *sql.Tx) (string, error) {
		for _, a := range to {
			n, err := b.assignPhoto(tx, line, a)
			if err != nil {
				return "", err
			}
			changed += n
		}
		if len(to) == 1 {
			return fmt.Sprintf("photo #%d shows %s", to[0].Photo, to[0].Plant), nil
		}
		return fmt.Sprintf("%d photos given their plants", changed), nil
	})
	return changed, err
}

func (b *Book) assignPhoto(tx *sql.Tx, line string, a Assignee) (changed int, err error) {
	var season string
	err = tx.QueryRow("SELECT s.name FROM photo f JOIN season s ON s.id = f.season_id WHERE f.id = ?", a.Photo).Scan(&season)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("photo #%d: %w", a.Photo, ErrNotFound)
	}
	if err != nil {
		return 0, err
	}
	row, name, err := record.Find(context.Background(), tx, "plant", a.Plant)
	switch {
	case err == nil && line != "":
		var of string
		if err := tx.QueryRow("SELECT n.name FROM plant p JOIN line n ON n.id = p.line_id WHERE p.id = ?", row).Scan(&of); err != nil {
			return 0, err
		}
		if naming.Key(of) != naming.Key(line) {
			return 0, fmt.Errorf("plant %q belongs to line %q, not %q", name, of, line)
		}
	case errors.Is(err, ErrNotFound) && line != "":
		id, err := record.FreeID(tx, a.Plant)
		if err != nil {
			return 0, err
		}
		if row, _, err = b.insertPlant(tx, Plant{ID: id, Line: line, Season: season}); err != nil {
			return 0, err
		}
	case errors.Is(err, ErrNotFound):
		return 0, fmt.Errorf("%w; a new plant needs its line", err)
	case err != nil:
		return 0, err
	}
	res, err := tx.Exec("UPDATE photo SET plant_id = ?1 WHERE id = ?2 AND plant_id IS NOT ?1", row, a.Photo)
	if err != nil {
		return 0, err
	}
	n, err := res.RowsAffected()
	return int(n), err
}
