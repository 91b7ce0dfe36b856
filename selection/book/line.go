package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// AddLine adds a line without a target. It returns ErrDuplicate when there is
// one of that name, whatever its case.
func (b *Book) AddLine(ctx context.Context, name, note string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		_, isNew, err := b.ensureLine(tx, name)
		if err != nil {
			return "", err
		}
		if !isNew {
			return "", fmt.Errorf("line %q: %w", name, ErrDuplicate)
		}
		clean, err := naming.CleanLine(name)
		if err != nil {
			return "", err
		}
		_, err = tx.Exec("UPDATE line SET note = ? WHERE key = ?", note, naming.Key(clean))
		return "line " + clean + " added", err
	})
}

// ensureLine returns the row of the line, added when it is new.
func (b *Book) ensureLine(tx *sql.Tx, name string) (id int64, isNew bool, err error) {
	key := naming.LineKey(name)
	if err := tx.QueryRow("SELECT id FROM line WHERE key = ?", key).Scan(&id); !errors.Is(err, sql.ErrNoRows) {
		return id, false, err
	}
	if name, err = naming.CleanLine(name); err != nil {
		return 0, false, err
	}
	return record.Ensure(tx, "SELECT id FROM line WHERE key = ?", []any{naming.Key(name)},
		"INSERT INTO line (name, key, added_at) VALUES (?, ?, ?)", []any{name, naming.Key(name), b.Stamp()})
}

// Line returns the line of that name, whatever its case, or ErrNotFound.
func (b *Book) Line(ctx context.Context, name string) (*Line, error) {
	lines, err := record.Lines(ctx, b.from, "WHERE n.key = ?", naming.LineKey(name))
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		if _, err := naming.CleanLine(name); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("line %q: %w", name, ErrNotFound)
	}
	return &lines[0], nil
}

// Lines returns all lines in natural order of name.
func (b *Book) Lines(ctx context.Context) ([]Line, error) { return record.Lines(ctx, b.from, "") }

// SetTarget sets the line's target, adding the line when it is new. The
// targets that it had before stay in its history. SetAt is ignored: it is the
// book's clock.
func (b *Book) SetTarget(ctx context.Context, line string, t Target) error {
	if t.Aim == "" {
		t.Aim = Move
	}
	if t.Within == 0 {
		t.Within = selection.DefaultWithin
	}
	if t.Aim != Move && t.Aim != Hold {
		return fmt.Errorf("target of line %q: aim %q; want move or hold", line, t.Aim)
	}
	if !record.Finite(t.Lab.L, t.Lab.A, t.Lab.B, t.Within) || t.Within <= 0 {
		return fmt.Errorf("target of line %q: L* %v, a* %v, b* %v within %v; give ordinary numbers, the tolerance above 0", line, t.Lab.L,
			t.Lab.A, t.Lab.B, t.Within)
	}
	var second [3]any // NULL
	if s := t.Second; s != nil {
		if !record.Finite(s.L, s.A, s.B) {
			return fmt.Errorf("second colour of line %q: L* %v, a* %v, b* %v; give ordinary numbers", line, s.L, s.A, s.B)
		}
		second = [3]any{s.L, s.A, s.B}
	}
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		id, _, err := b.ensureLine(tx, line)
		if err != nil {
			return "", err
		}
		_, err = tx.Exec(`INSERT INTO target (line_id, aim, l, a, b, within, source, measured, second_l, second_a, second_b, set_at)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			id, t.Aim, t.Lab.L, t.Lab.A, t.Lab.B, t.Within, t.Source, t.Measured, second[0], second[1], second[2], b.Stamp())
		return fmt.Sprintf("target of %s: L* %.1f, a* %.1f, b* %.1f within %g", line, t.Lab.L, t.Lab.A, t.Lab.B, t.Within), err
	})
}

// Targets returns every target that the line ever had, newest first. It
// returns ErrNotFound for an unknown line.
func (b *Book) Targets(ctx context.Context, line string) ([]Target, error) {
	n, err := b.Line(ctx, line)
	if err != nil {
		return nil, err
	}
	return record.Targets(ctx, b.from, n.Name)
}

// EnsureSeason adds the season ("2026") when it is new. Its name obeys [naming.CleanID].
func (b *Book) EnsureSeason(ctx context.Context, name string) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		_, err := record.EnsureSeason(tx, name)
		return err
	})
}

// Seasons returns the names of all seasons in natural order.
func (b *Book) Seasons(ctx context.Context) ([]string, error) {
	rows, err := b.from.QueryContext(ctx, "SELECT name FROM season")
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	names := []string{}
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, sqlite.Wrap(err)
		}
		names = append(names, s)
	}
	slices.SortFunc(names, selection.CompareIDs)
	return names, sqlite.Wrap(rows.Err())
}
