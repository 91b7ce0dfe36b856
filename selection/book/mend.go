package book

import (
	"context"
	"database/sql"
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
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var names []string
		for i, id := range photos {
			if slices.Contains(photos[:i], id) {
				continue
			}
			var name string
			if err := record.PhotoName(tx, id, &name); err != nil {
				return "", err
			}
			readings, err := record.Numbers(tx, "SELECT id FROM reading WHERE photo_id = ? ORDER BY id", id)
			if err != nil {
				return "", err
			}
			columns := record.Columns{}
			for _, r := range readings {
				if err := columns.Check(tx, "reading", "id"); err != nil {
					return "", err
				}
				if err := record.RemoveRun(tx, columns, "reading", r, r); err != nil {
					return "", err
				}
			}
			if err := columns.Check(tx, "photo", "id"); err != nil {
				return "", err
			}
			if err := record.RemoveRun(tx, columns, "photo", id, id); err != nil {
				return "", err
			}
			names = append(names, name)
		}
		return "taken out: photo " + nameList(names), nil
	})
}

// UnassignPhotos says that it is not known which plants photos show.
func (b *Book) UnassignPhotos(ctx context.Context, photos ...int64) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var names []string
		for _, id := range photos {
			var name string
			if err := record.PhotoName(tx, id, &name); err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE photo SET plant_id = NULL WHERE id = ? AND plant_id IS NOT NULL", id); err != nil {
				return "", err
			}
			names = append(names, name)
		}
		return "of no plant: photo " + nameList(names), nil
	})
}

// RenamePlant gives a plant another id. Its heads keep their names, which stand on tags.
// It returns ErrNotFound, or ErrDuplicate when the new id is taken.
func (b *Book) RenamePlant(ctx context.Context, plant, to string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, old, err := record.Find(context.Background(), tx, "plant", plant)
		if err != nil {
			return "", err
		}
		clean, err := record.FreeID(tx, to)
		if same, e := naming.CleanID(to); e == nil && naming.Key(same) == naming.Key(old) {
			clean, err = same, nil // another case
		}
		if errors.Is(err, ErrDuplicate) {
			return "", remedy.Step(remedy.MergePlants, old, strings.TrimSpace(to)).Errorf("%w; if both are one plant, merge them", err)
		}
		if err != nil {
			return "", err
		}
		_, err = tx.Exec("UPDATE plant SET name = ?, key = ? WHERE id = ?", clean, naming.Key(clean), row)
		return fmt.Sprintf("plant %s is %s now", old, clean), err
	})
}

// RenameLine gives a line another name. It returns ErrNotFound, or ErrDuplicate when
// the new name is taken.
func (b *Book) RenameLine(ctx context.Context, line, to string) error {
	clean, err := naming.CleanLine(to)
	if err != nil {
		return err
	}
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var row, other int64
		var old string
		err := tx.QueryRow("SELECT id, name FROM line WHERE key = ?", naming.LineKey(line)).Scan(&row, &old)
		if errors.Is(err, sql.ErrNoRows) {
			return "", fmt.Errorf("line %q: %w", line, ErrNotFound)
		}
		if err != nil {
			return "", err
		}
		if err := tx.QueryRow("SELECT count(*) FROM line WHERE key = ? AND id <> ?", naming.Key(clean), row).Scan(&other); err != nil {
			return "", err
		}
		if other > 0 {
			return "", fmt.Errorf("line %q: %w", clean, ErrDuplicate)
		}
		_, err = tx.Exec("UPDATE line SET name = ?, key = ? WHERE id = ?", clean, naming.Key(clean), row)
		return fmt.Sprintf("line %s is %s now", old, clean), err
	})
}

// MovePlants moves plants to another line, added when new, all of them or none.
func (b *Book) MovePlants(ctx context.Context, line string, plants ...string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		id, _, err := b.ensureLine(tx, line)
		if err != nil {
			return "", err
		}
		var names []string
		for _, typed := range plants {
			row, name, err := record.Find(context.Background(), tx, "plant", typed)
			if err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE plant SET line_id = ? WHERE id = ?", id, row); err != nil {
				return "", err
			}
			names = append(names, name)
		}
		return fmt.Sprintf("%s: line %s", nameList(names), line), nil
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
