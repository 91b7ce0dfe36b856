package book

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Which returns the names of the plants that typed stands for, each once, in the order given. Typed are ids, with or
// without the check letter, and ranges such as M-03..M-09, which stand for those of their plants that are in the book.
// Which returns ErrNotFound for an id that is not in the book, and for a range without a plant in the book.
func (b *Book) Which(ctx context.Context, typed []string) ([]string, error) {
	var out []string
	for _, t := range typed {
		names, err := record.Which(ctx, b.from, t)
		if err != nil {
			return nil, sqlite.Wrap(err)
		}
		for _, name := range names {
			if !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return out, nil
}

// One is [Book.Which] for a single plant; a range of several plants is an error.
func (b *Book) One(ctx context.Context, typed string) (string, error) {
	names, err := record.Which(ctx, b.from, typed)
	if err != nil {
		return "", sqlite.Wrap(err)
	}
	if len(names) > 1 {
		return "", fmt.Errorf("plants %q are %d; name one of them", typed, len(names))
	}
	return names[0], nil
}

// HeadNames returns the full names of the heads that typed stands for: names and ranges of heads, or
// plants, which stand for all their heads. It returns ErrNotFound for anything else.
func (b *Book) HeadNames(ctx context.Context, typed []string) (names []string, err error) {
	for _, t := range typed {
		many, err := record.HeadRange(ctx, b.from, t)
		if err != nil {
			return nil, err
		}
		for _, one := range many {
			_, name, err := record.Find(ctx, b.from, "head", one)
			if err == nil {
				names = append(names, name)
				continue
			}
			if !errors.Is(err, ErrNotFound) {
				return nil, err
			}
			plant, _, err2 := record.Find(ctx, b.from, "plant", one)
			if err2 != nil {
				return nil, err
			}
			of, err := sqlite.Column[string](ctx, b.from, "SELECT name FROM head WHERE plant_id = ? ORDER BY number", plant)
			if err != nil {
				return nil, err
			}
			names = append(names, of...)
		}
	}
	return names, nil
}

// PacketNames returns the full names of the packets that were typed.
func (b *Book) PacketNames(ctx context.Context, typed []string) (names []string, err error) {
	for _, t := range typed {
		_, name, err := record.Find(ctx, b.from, "packet", t)
		if err != nil {
			return nil, err
		}
		names = append(names, name)
	}
	return names, nil
}

// cleanLabels cleans names of beds, shelves and lots in place; nil ones are skipped.
func cleanLabels(labels ...*string) error {
	for _, l := range labels {
		if l == nil {
			continue
		}
		var err error
		if *l, err = naming.CleanLabel(*l); err != nil {
			return err
		}
	}
	return nil
}
