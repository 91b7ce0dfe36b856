package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// ErrNone says that "none" was given as the name of a new plant.
var ErrNone = errors.New("the word stands for no plant; give it another name")

// New reports whether a plant of that id would be a new one. It is an error where the id
// is not usable, and a [naming.ErrMistyped] where it looks like one of the book's own
// making whose last letter does not fit: that is a tag misread, and no new plant.
func (b *Book) New(ctx context.Context, id string) (bool, error) {
	_, isNew, err := newPlant(ctx, b.from, id)
	return isNew, sqlite.Wrap(err)
}

// newPlant is New, and the id as the book keeps it: of a plant that it has, in full.
func newPlant(ctx context.Context, q record.Querier, id string) (name string, isNew bool, err error) {
	_, name, err = find(ctx, q, "plant", id)
	if err == nil || !errors.Is(err, ErrNotFound) {
		return name, false, err
	}
	misread := errors.Is(err, naming.ErrMistyped)
	if name, err = naming.CleanID(id); err != nil {
		return "", false, fmt.Errorf("plant: %w", err)
	}
	if naming.Key(name) == "none" {
		return "", false, fmt.Errorf("plant %q: %w", name, ErrNone)
	}
	if !misread {
		return name, true, nil
	}
	// Only where the book makes such names: 26-014A may be a grower's own.
	stem := naming.Key(naming.Made.FindStringSubmatch(strings.ToUpper(name))[2]) + "-"
	others, err := record.Collect(ctx, q, "SELECT name FROM plant WHERE key GLOB ?", []any{stem + "[0-9]*"}, func(rows *sql.Rows,
		s *string) error {
		return rows.Scan(s)
	})
	if err != nil {
		return "", false, err
	}
	for _, other := range others {
		upper := strings.ToUpper(other)
		if m := naming.Made.FindStringSubmatch(upper); m != nil && m[4] == string(naming.CheckLetter(strings.TrimSuffix(upper, m[4]))) {
			return "", false, fmt.Errorf("plant %q: %w", name, naming.ErrMistyped)
		}
	}
	return name, true, nil
}

// freeID is a usable id of a plant that is not in the book yet, or an ErrDuplicate.
func freeID(tx *sql.Tx, id string) (string, error) {
	name, isNew, err := newPlant(context.Background(), tx, id)
	if err == nil && !isNew {
		if clean, err := naming.CleanID(id); err == nil && naming.Key(clean) != naming.Key(name) {
			return "", fmt.Errorf("plant %q: %w, as %s", clean, ErrDuplicate, name)
		}
		return "", fmt.Errorf("plant %q: %w", name, ErrDuplicate)
	}
	return name, err
}
