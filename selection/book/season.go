package book

import (
	"context"
	"fmt"
	"slices"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Crosses returns the crosses of a season, or of all with "", in order of name.
func (b *Book) Crosses(ctx context.Context, season string) ([]Cross, error) {
	return record.Crosses(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Heads returns the heads of a season, or of all with "", in order of name.
func (b *Book) Heads(ctx context.Context, season string) ([]Head, error) {
	return record.Heads(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Packets returns the packets of a season, or of all with "", in order of name.
func (b *Book) Packets(ctx context.Context, season string) ([]Packet, error) {
	return record.Packets(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Sowings returns the sowings of a season, or of all with "", in order of name.
func (b *Book) Sowings(ctx context.Context, season string) ([]Sowing, error) {
	return record.Sowings(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// Traits returns the traits in order of entry.
func (b *Book) Traits(ctx context.Context) ([]Trait, error) {
	list, err := record.Traits(ctx, b.from)
	for i := range list {
		if t := &list[i]; t.Better == "" { // of a book from before a usual trait said it
			if usual, ok := UsualTrait(t.Name); ok && slices.Equal(usual.Words, t.Words) {
				t.Better = usual.Better
			}
		}
	}
	return list, err
}

// Scores returns the scores that count, of a plant or of all with "", in order
// of plant and trait.
func (b *Book) Scores(ctx context.Context, plant string) ([]Score, error) {
	return record.Scores(ctx, b.from, plant)
}

// FounderGroups returns the groups in order of name.
func (b *Book) FounderGroups(ctx context.Context) ([]FounderGroup, error) {
	return record.FounderGroups(ctx, b.from)
}

// dayText is a date as it is stored; zero is NULL.
func dayText(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.Format(time.DateOnly)
}

// recordOf is the record of that full name; key is the column that it is found by.
func recordOf[T any](ctx context.Context, b *Book, read func(context.Context, sqlite.Querier, string, ...any) ([]T, error),
	what, key, name string) (*T, error) {
	list, err := read(ctx, b.from, key+" = ?", naming.Key(name))
	return record.One(list, err, what+" %q", name)
}

// fixed changes one row of a table, by f, and returns it as it is now.
func fixed[T any](ctx context.Context, b *Book, table, typed string, get func(context.Context, string) (*T, error),
	f func(t *record.Tx, row int64, full string) (what string)) (*T, error) {
	var full string
	err := b.change(ctx, func(t *record.Tx) (what string) {
		t.Every(table, []string{typed}, func(row int64, name string) { full, what = name, f(t, row, name) })
		return what
	})
	if err != nil {
		return nil, err
	}
	return get(ctx, full)
}

// fixedAll changes rows of a table, by f, all or none, and returns them as they are now; words say it of all of their names.
func fixedAll[T any](ctx context.Context, b *Book, table string, typed []string, get func(context.Context, string) (*T, error),
	f func(t *record.Tx, row int64, full string), words func(all string) string) ([]T, error) {
	var full []string
	if err := b.change(ctx, func(t *record.Tx) string {
		full = t.Every(table, typed, func(row int64, name string) { f(t, row, name) })
		return words(nameList(full))
	}); err != nil {
		return nil, err
	}
	var out []T
	for _, name := range full {
		v, err := get(ctx, name)
		if err != nil {
			return nil, err
		}
		out = append(out, *v)
	}
	return out, nil
}

// columns are the new values of columns: pointers, of which nil leaves a column as it is. The zero time, a negative
// count and 0 grams take away what was said.
type columns map[string]any

// correct changes columns of a row.
func correct(t *record.Tx, table string, row int64, to columns) {
	for column, v := range to {
		var value any
		switch v := v.(type) {
		case *string:
			if v == nil {
				continue
			}
			value = *v
		case *time.Time:
			if v == nil {
				continue
			}
			value = dayText(*v)
		case *int:
			if v == nil {
				continue
			}
			if *v >= 0 {
				t.Fail(checkCount("seeds", v))
				value = *v
			}
		case *float64:
			if v == nil {
				continue
			}
			t.Fail(checkGrams(*v))
			value = record.OrNull(*v)
		}
		t.Do(fmt.Sprintf("UPDATE %q SET %s = ? WHERE id = ?", table, column), value, row)
	}
}
