package book

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// RemovePhotos takes photos and their readings out of the book, all of them or none.
// Their files stay in its folder, where [Book.Undo] finds them again. It returns
// ErrNotFound for a photo that is not in the book.
func (b *Book) RemovePhotos(ctx context.Context, photos ...int64) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var names []string
		for i, id := range photos {
			if slices.Contains(photos[:i], id) {
				continue
			}
			names = append(names, t.Photo(id))
			for _, r := range record.All[int64](t, "SELECT id FROM reading WHERE photo_id = ? ORDER BY id", id) {
				t.Remove("reading", r, r)
			}
			t.Remove("photo", id, id)
		}
		return "taken out: photo " + nameList(names)
	})
}

// UnassignPhotos says that it is not known which plants photos show.
func (b *Book) UnassignPhotos(ctx context.Context, photos ...int64) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var names []string
		for _, id := range photos {
			names = append(names, t.Photo(id))
			t.Do("UPDATE photo SET plant_id = NULL WHERE id = ? AND plant_id IS NOT NULL", id)
		}
		return "of no plant: photo " + nameList(names)
	})
}

// RenamePlant gives a plant another id. Its heads keep their names, which stand on tags.
// It returns ErrNotFound, or ErrDuplicate when the new id is taken.
func (b *Book) RenamePlant(ctx context.Context, plant, to string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		row, old := t.Find("plant", plant)
		clean, err := naming.CleanID(to)
		if t.Err() == nil && (err != nil || naming.Key(clean) != naming.Key(old)) { // not only another case
			if clean = t.FreeID(to); errors.Is(t.Err(), ErrDuplicate) {
				t.Mend(remedy.Step(remedy.MergePlants, old, strings.TrimSpace(to)), "; if both are one plant, merge them")
			}
		}
		t.Do("UPDATE plant SET name = ?, key = ? WHERE id = ?", clean, naming.Key(clean), row)
		return fmt.Sprintf("plant %s is %s now", old, clean)
	})
}

// RenameLine gives a line another name. It returns ErrNotFound, or ErrDuplicate when
// the new name is taken.
func (b *Book) RenameLine(ctx context.Context, line, to string) error {
	clean, err := naming.CleanLine(to)
	if err != nil {
		return err
	}
	return b.Change(ctx, func(t *record.Tx) string {
		var row int64
		var old string
		if !t.Get("SELECT id, name FROM line WHERE key = ?", naming.LineKey(line)).Found(&row, &old) {
			t.Failf("line %q: %w", line, ErrNotFound)
		}
		var taken bool
		if t.Get("SELECT EXISTS (SELECT 1 FROM line WHERE key = ? AND id <> ?)", naming.Key(clean), row).Into(&taken); taken {
			t.Failf("line %q: %w", clean, ErrDuplicate)
		}
		t.Do("UPDATE line SET name = ?, key = ? WHERE id = ?", clean, naming.Key(clean), row)
		return fmt.Sprintf("line %s is %s now", old, clean)
	})
}

// RestsOn says what in the book rests on a plant, as "2 photos, 1 cross on it"; empty:
// nothing, and [Book.Remove] takes it out.
func (b *Book) RestsOn(ctx context.Context, plant string) (string, error) {
	row, _, err := record.Find(ctx, b.from, "plant", plant)
	if err != nil {
		return "", err
	}
	words, err := record.RestingOn(ctx, b.from, row)
	return words, sqlite.Wrap(err)
}
