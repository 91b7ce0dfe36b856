package book

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// AddLine adds a line without a target. It returns ErrDuplicate when there is one of that name, whatever its case.
func (b *Book) AddLine(ctx context.Context, name, note string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		id, isNew := b.ensureLine(t, name)
		if !isNew {
			t.Failf("line %q: %w", name, ErrDuplicate)
		}
		t.Get("UPDATE line SET note = ? WHERE id = ? RETURNING name", note, id).Into(&name)
		return "line " + name + " added"
	})
}

// ensureLine returns the row of the line, added when it is new.
func (b *Book) ensureLine(t *record.Tx, name string) (id int64, isNew bool) {
	if t.Get("SELECT id FROM line WHERE key = ?", naming.LineKey(name)).Found(&id) {
		return id, false
	}
	clean, err := naming.CleanLine(name)
	t.Fail(err)
	return t.Ensure("line", clean, b.Stamp())
}

// Line returns the line of that name, whatever its case, or ErrNotFound.
func (b *Book) Line(ctx context.Context, name string) (*Line, error) {
	lines, err := record.Lines(ctx, b.from, "WHERE n.key = ?", naming.LineKey(name))
	if err != nil {
		return nil, err
	}
	if _, err := naming.CleanLine(name); err != nil && len(lines) == 0 {
		return nil, err
	}
	return record.One(lines, nil, "line %q", name)
}

// Lines returns all lines in natural order of name.
func (b *Book) Lines(ctx context.Context) ([]Line, error) { return record.Lines(ctx, b.from, "") }

// A grower's tolerance lies between these, in Delta E 2000: no photo tells less apart, and black lies 100 from white. Our own
// choices. Books may hold others from earlier versions.
const (
	LeastWithin = 0.1
	MostWithin  = 100
)

// SetTarget sets the line's target, adding the line if it is new. Its earlier targets stay in the line's history.
// The target's SetAt is ignored; the book's clock is used.
func (b *Book) SetTarget(ctx context.Context, line string, to Target) error {
	to.Aim, to.Within = cmp.Or(to.Aim, Move), cmp.Or(to.Within, selection.DefaultWithin)
	if to.Aim != Move && to.Aim != Hold {
		return fmt.Errorf("target of line %q: aim %q; want move or hold", line, to.Aim)
	}
	if !record.Finite(to.Lab.L, to.Lab.A, to.Lab.B, to.Within) || to.Within <= 0 {
		return fmt.Errorf("target of line %q: L* %v, a* %v, b* %v within %v; give ordinary numbers, the tolerance above 0", line, to.Lab.L,
			to.Lab.A, to.Lab.B, to.Within)
	}
	var second [3]any // NULL
	if s := to.Second; s != nil {
		if !record.Finite(s.L, s.A, s.B) {
			return fmt.Errorf("second colour of line %q: L* %v, a* %v, b* %v; give ordinary numbers", line, s.L, s.A, s.B)
		}
		second = [3]any{s.L, s.A, s.B}
	}
	return b.Change(ctx, func(t *record.Tx) string {
		id, _ := b.ensureLine(t, line)
		t.Add("target", "line_id, aim, l, a, b, within, source, measured, second_l, second_a, second_b, set_at", id, to.Aim, to.Lab.L, to.Lab.A,
			to.Lab.B, to.Within, to.Source, to.Measured, second[0], second[1], second[2], b.Stamp())
		return fmt.Sprintf("target of %s: L* %.1f, a* %.1f, b* %.1f within %g", line, to.Lab.L, to.Lab.A, to.Lab.B, to.Within)
	})
}

// EnsureSeason adds the season ("2026") when it is new. Its name obeys [naming.CleanID].
func (b *Book) EnsureSeason(ctx context.Context, name string) error {
	return b.write(ctx, func(t *record.Tx) { t.Season(name) })
}

// Seasons returns the names of all seasons in natural order.
func (b *Book) Seasons(ctx context.Context) ([]string, error) {
	names, err := sqlite.Column[string](ctx, b.from, "SELECT name FROM season")
	slices.SortFunc(names, selection.CompareIDs)
	return names, err
}

// RenameLine gives a line another name. It returns ErrNotFound, or ErrDuplicate when the new name is taken.
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
