package book

import (
	"context"
	"database/sql"
	"errors"
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

// dayText returns a date as it is stored; the zero time gives NULL.
func dayText(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.Format(time.DateOnly)
}

// records describes a table whose rows have names: how its rows are read, and by which column they are found.
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

// of returns the records of a season, or all with "".
func (r records[T]) of(ctx context.Context, b *Book, season string) ([]T, error) {
	return r.read(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}

// named returns the record of that name, with or without the check letter; the error wraps ErrNotFound.
func (r records[T]) named(ctx context.Context, b *Book, typed string) (*T, error) {
	_, name, err := record.Find(ctx, b.from, r.table, typed)
	if err != nil {
		return nil, err
	}
	list, err := r.read(ctx, b.from, r.key+" = ?", naming.Key(name))
	return record.One(list, err, r.table+" %q", name)
}

// fix changes one row by f, which returns a description of the change, and returns the record as it is now.
func (r records[T]) fix(ctx context.Context, b *Book, typed string, f func(t *record.Tx, row int64, full string) string) (*T, error) {
	var what string
	list, err := r.fixAll(ctx, b, []string{typed}, func(t *record.Tx, row int64, full string) { what = f(t, row, full) },
		func(string) string { return what })
	if err != nil {
		return nil, err
	}
	return &list[0], nil
}

// fixAll changes rows by f, all or none, and returns the records as they are now; words describes the change of all names.
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

// columns holds new values of columns, by name, as pointers; nil leaves a column as it is. The zero time, a negative
// count and 0 grams set it to NULL.
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

// OpenWork lists the records of a season for which work is still to be done.
type OpenWork struct {
	Heads   []Head   // neither lost nor in a packet
	Packets []Packet // not dry, or with a germination test that is not read
	Sowings []Sowing // of which no plants were noted, or that are not planted out
	Plants  []OpenPlant
}

// OpenPlant is a plant of the season that is neither passed nor lost.
type OpenPlant struct {
	ID, Line string
	Sown     time.Time // zero: not known
	Added    time.Time // when it was entered
	Photos   int       // of the season
}

// OpenWork returns the open heads, packets and plants of the season, and the open germination
// tests and sowings of every season that began on since or later.
func (b *Book) OpenWork(ctx context.Context, season string, since time.Time) (*OpenWork, error) {
	var w OpenWork
	var err error
	if w.Heads, err = record.Heads(ctx, b.from,
		"s.key = ? AND h.lost_on IS NULL AND NOT EXISTS (SELECT 1 FROM packet_head WHERE head_id = h.id)",
		naming.Key(season)); err != nil {
		return nil, err
	}
	if w.Packets, err = record.Packets(ctx, b.from, `s.key = ?1 AND k.dried_on IS NULL
		OR EXISTS (SELECT 1 FROM germination_test WHERE packet_id = k.id AND read_on IS NULL AND started_on >= ?2)`, naming.Key(season),
		dayText(since)); err != nil {
		return nil, err
	}
	if w.Sowings, err = record.Sowings(ctx, b.from, "w.sown_on >= ? AND (w.planted_out_on IS NULL OR NOT EXISTS (SELECT 1 FROM plant "+
		"WHERE sowing_id = w.id))",
		dayText(since)); err != nil {
		return nil, err
	}
	w.Plants, err = sqlite.Collect(ctx, b.from, `SELECT p.name, n.name, w.sown_on, substr(p.added_at, 1, 10), (SELECT count(*) FROM photo f
		WHERE f.plant_id = p.id AND f.season_id = p.season_id)
		FROM plant p JOIN line n ON n.id = p.line_id JOIN season s ON s.id = p.season_id LEFT JOIN sowing w ON w.id = p.sowing_id
		WHERE s.key = ? AND p.status IN ('growing', 'kept', 'reserve') ORDER BY p.id`, []any{naming.Key(season)}, func(rows *sql.Rows,
		p *OpenPlant) error {
		return rows.Scan(&p.ID, &p.Line, record.AsDay(&p.Sown), record.AsDay(&p.Added), &p.Photos)
	})
	return &w, err
}

// Identity returns an id that stays the same for a book and differs between books: its first
// line and when that was entered. It is empty for a book without a line.
func (b *Book) Identity(ctx context.Context) (id string, err error) {
	err = b.from.QueryRowContext(ctx, "SELECT name || ' ' || added_at FROM line ORDER BY id LIMIT 1").Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return id, sqlite.Wrap(err)
}
