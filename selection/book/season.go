package book

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Crosses returns the crosses of a season, or of all with "", in order of name.
func (b *Book) Crosses(ctx context.Context, season string) ([]Cross, error) {
	return crossRecords.of(ctx, b, season)
}

// Heads returns the heads of a season, or of all with "", in order of name.
func (b *Book) Heads(ctx context.Context, season string) ([]Head, error) {
	return headRecords.of(ctx, b, season)
}

// Packets returns the packets of a season, or of all with "", in order of name.
func (b *Book) Packets(ctx context.Context, season string) ([]Packet, error) {
	return packetRecords.of(ctx, b, season)
}

// Sowings returns the sowings of a season, or of all with "", in order of name.
func (b *Book) Sowings(ctx context.Context, season string) ([]Sowing, error) {
	return sowingRecords.of(ctx, b, season)
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

// dayText is a date as it is stored; zero is NULL.
func dayText(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.Format(time.DateOnly)
}

// records are those of a table whose rows have names of their own: how they are read, and the column that they are found by.
type records[T any] struct {
	table, key string
	read       func(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]T, error)
}

var (
	crossRecords  = records[Cross]{"cross", "c.key", record.Crosses}
	headRecords   = records[Head]{"head", "h.key", record.Heads}
	packetRecords = records[Packet]{"packet", "k.key", record.Packets}
	sowingRecords = records[Sowing]{"sowing", "w.key", record.Sowings}
	pollenRecords = records[Pollen]{"pollen", "l.key", record.AllPollen}
)

// of are those of a season, or all with "".
func (r records[T]) of(ctx context.Context, b *Book, season string) ([]T, error) {
	return r.read(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// named is the one of that name, the check letter left out or not; the error wraps ErrNotFound.
func (r records[T]) named(ctx context.Context, b *Book, typed string) (*T, error) {
	_, name, err := record.Find(ctx, b.from, r.table, typed)
	if err != nil {
		return nil, err
	}
	list, err := r.read(ctx, b.from, r.key+" = ?", naming.Key(name))
	return record.One(list, err, r.table+" %q", name)
}

// fix changes one row, by f, which says so in words, and returns it as it is now.
func (r records[T]) fix(ctx context.Context, b *Book, typed string, f func(t *record.Tx, row int64, full string) string) (*T, error) {
	var what string
	list, err := r.fixAll(ctx, b, []string{typed}, func(t *record.Tx, row int64, full string) { what = f(t, row, full) },
		func(string) string { return what })
	if err != nil {
		return nil, err
	}
	return &list[0], nil
}

// fixAll changes rows, by f, all or none, and returns them as they are now; words say it of all of their names.
func (r records[T]) fixAll(ctx context.Context, b *Book, typed []string, f func(t *record.Tx, row int64, full string),
	words func(all string) string) (out []T, err error) {
	var full []string
	if err := b.Change(ctx, func(t *record.Tx) string {
		full = t.Every(r.table, typed, func(row int64, name string) { f(t, row, name) })
		return words(nameList(full))
	}); err != nil {
		return nil, err
	}
	for _, name := range full {
		v, err := r.named(ctx, b, name)
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
		if reflect.ValueOf(v).IsNil() {
			continue
		}
		var value any
		switch v := v.(type) {
		case *string:
			value = *v
		case *time.Time:
			value = dayText(*v)
		case *int:
			if *v >= 0 {
				t.Fail(checkCount("seeds", v))
				value = *v
			}
		case *float64:
			t.Fail(checkGrams(*v))
			value = record.OrNull(*v)
		}
		t.Do(fmt.Sprintf("UPDATE %q SET %s = ? WHERE id = ?", table, column), value, row)
	}
}
