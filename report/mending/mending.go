// Package mending corrects wrong entries: the name of a plant or a line, one plant
// that was entered twice, plants entered under the wrong line, a plant that never existed. The
// commands and the page use it, so that both report the same.
//
// Start with [Rename], [Merge], [Move] or [RenameLine]. Each function makes one change of the book,
// which undo takes back. What the book refuses is returned as its error, and nothing is changed.
package mending

import (
	"context"
	"fmt"
	"strings"

	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/intake"
)

// Done is what was corrected.
type Done struct {
	Text  string   // in words, without a full stop
	Odd   []string // what counts now where two entries of one plant did not agree
	Plant string   // the plant that it is about, by its name now; empty: none
}

// Said returns what was corrected, as sentences.
func (d *Done) Said() string {
	odd := ""
	if len(d.Odd) > 0 {
		odd = words.Sentence("the two did not agree; what counts now: " + strings.Join(d.Odd, "; "))
	}
	return words.Joined(" ", words.Sentence(d.Text), odd)
}

// Rename gives a plant another name. Its heads keep their names, which are on their tags.
func Rename(ctx context.Context, b *book.Book, plant, to string) (*Done, error) {
	old, err := b.One(ctx, plant)
	if err != nil {
		return nil, err
	}
	if err := b.RenamePlant(ctx, old, to); err != nil {
		return nil, err
	}
	names := []string{strings.TrimSpace(to)}
	alike, err := intake.Alike(ctx, b, names)
	if err != nil {
		return nil, err
	}
	return &Done{Text: fmt.Sprintf("%s is called %s now%s", old, names[0], intake.DidYouMean(names, alike)), Plant: names[0]}, nil
}

// Merge makes one plant of two entries: it moves everything that refers to plant to into, and removes plant.
func Merge(ctx context.Context, b *book.Book, plant, into string) (*Done, error) {
	var ids [2]string
	for i, typed := range []string{plant, into} {
		name, err := b.One(ctx, typed)
		if err != nil {
			return nil, err
		}
		ids[i] = name
	}
	m, err := b.MergePlants(ctx, ids[0], ids[1])
	if err != nil {
		return nil, err
	}
	what := m.Moved
	if what == "" {
		what = "nothing rested on it"
	}
	return &Done{Text: fmt.Sprintf("%s is part of %s now: %s", m.Plant, m.Into, what), Odd: m.Odd, Plant: m.Into}, nil
}

// Move moves plants to another line of the book: all of them, or none if one is unknown. Ranges of plants may be named.
func Move(ctx context.Context, b *book.Book, line string, plants ...string) (*Done, error) {
	l, err := garden.LineNamed(ctx, b, line)
	if err != nil {
		return nil, err
	}
	ids, err := b.Which(ctx, plants)
	if err != nil {
		return nil, err
	}
	if err := b.MovePlants(ctx, l.Name, ids...); err != nil {
		return nil, err
	}
	d := &Done{Text: fmt.Sprintf("%s: line %s", strings.Join(ids, ", "), l.Name)}
	if len(ids) == 1 {
		d.Plant = ids[0]
	}
	return d, nil
}

// RenameLine gives a line another name; everything that belongs to it stays with it.
func RenameLine(ctx context.Context, b *book.Book, line, to string) (*Done, error) {
	l, err := b.Line(ctx, line)
	if err != nil {
		return nil, err
	}
	if err := b.RenameLine(ctx, l.Name, to); err != nil {
		return nil, err
	}
	return &Done{Text: fmt.Sprintf("line %s is called %s now", l.Name, strings.TrimSpace(to))}, nil
}
