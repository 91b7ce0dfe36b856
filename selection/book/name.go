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

// Which turns what was typed into the names of plants, each once, in the order given: ids, with or without the check
// letter, and ranges such as M-03..M-09, which stand for those of them that are in the book. It returns ErrNotFound for
// an id that is not, and for a range that holds none.
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

// One is [Book.Which] where a single plant is meant: a range that stands for several is an error.
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

// HeadNames turns what was typed into the full names of heads: names, ranges, and
// plants for all their heads. It returns ErrNotFound for what is none.
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

// PacketNames turns what was typed into the full names of packets.
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

// cleanLabels cleans what beds, shelves and lots are called, in place; nil: not given.
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
