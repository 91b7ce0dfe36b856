package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Aim is what a line is bred for.
type Aim string

// A line is moved toward a shade, or held true at it.
const (
	Move Aim = "move"
	Hold Aim = "hold"
)

// Line is a line or variety with the target that counts now.
type Line struct {
	Name   string
	Note   string
	Target *Target // nil: none set yet
	Plants int     // plants of all seasons
}

// Target is one setting of a line's aim and shade. Setting a new one keeps
// the old in the line's history.
type Target struct {
	Aim      Aim // empty: Move
	Lab      cie.Lab
	Within   float64 // tolerance, Delta E 2000; 0: selection.DefaultWithin
	Source   string  // "--lab", "--hex", "photo IMG_0412.jpg"
	Measured bool    // from a photo taken as the plants' are
	// Second is the shade of the second colour of striped and edged petals; nil: only one
	// colour is bred for. See [Target.Pair].
	Second *cie.Lab
	SetAt  time.Time
}

// Selection returns t as what plants are ranked by.
func (t Target) Selection() selection.Target {
	return selection.Target{Lab: t.Lab, Within: t.Within, Source: t.Source, Measured: t.Measured, Second: t.Second}
}

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
	name, err = naming.CleanLine(name)
	if err != nil {
		return 0, false, err
	}
	return ensure(tx, "SELECT id FROM line WHERE key = ?", []any{naming.Key(name)},
		"INSERT INTO line (name, key, added_at) VALUES (?, ?, ?)", []any{name, naming.Key(name), b.Stamp()})
}

// ensure returns the id that query finds, or that of the row that insert adds.
func ensure(tx *sql.Tx, query string, args []any, insert string, values []any) (id int64, isNew bool, err error) {
	err = tx.QueryRow(query, args...).Scan(&id)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, false, err
	}
	res, err := tx.Exec(insert, values...)
	if err != nil {
		return 0, false, err
	}
	id, err = res.LastInsertId()
	return id, true, err
}

// Line returns the line of that name, whatever its case, or ErrNotFound.
func (b *Book) Line(ctx context.Context, name string) (*Line, error) {
	clean, err := naming.CleanLine(name)
	if err != nil {
		return nil, err
	}
	lines, err := b.lines(ctx, "WHERE n.key = ?", naming.Key(clean))
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, fmt.Errorf("line %q: %w", name, ErrNotFound)
	}
	return &lines[0], nil
}

// Lines returns all lines in natural order of name.
func (b *Book) Lines(ctx context.Context) ([]Line, error) { return b.lines(ctx, "") }

func (b *Book) lines(ctx context.Context, where string, args ...any) ([]Line, error) {
	rows, err := b.from.QueryContext(ctx, `
		SELECT n.name, n.note, (SELECT count(*) FROM plant WHERE line_id = n.id),
		       t.aim, t.l, t.a, t.b, t.within, t.source, t.measured, t.second_l, t.second_a, t.second_b, t.set_at
		FROM line n LEFT JOIN target t ON t.id = (SELECT max(id) FROM target WHERE line_id = n.id) `+where, args...)
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	lines := []Line{}
	for rows.Next() {
		var n Line
		var t targetRow
		if err := rows.Scan(append([]any{&n.Name, &n.Note, &n.Plants}, t.fields()...)...); err != nil {
			return nil, sqlite.Wrap(err)
		}
		n.Target = t.target()
		lines = append(lines, n)
	}
	slices.SortFunc(lines, func(x, y Line) int { return selection.CompareIDs(x.Name, y.Name) })
	return lines, sqlite.Wrap(rows.Err())
}

// targetRow is a target's columns, all NULL where a line has none.
type targetRow struct {
	aim, source, setAt sql.NullString
	l, a, b, within    sql.NullFloat64
	second             [3]sql.NullFloat64
	measured           sql.NullBool
}

func (t *targetRow) fields() []any {
	return []any{&t.aim, &t.l, &t.a, &t.b, &t.within, &t.source, &t.measured, &t.second[0], &t.second[1], &t.second[2], &t.setAt}
}

func (t *targetRow) target() *Target {
	if !t.aim.Valid {
		return nil
	}
	out := &Target{
		Aim: Aim(t.aim.String), Lab: cie.Lab{L: t.l.Float64, A: t.a.Float64, B: t.b.Float64},
		Within: t.within.Float64, Source: t.source.String, Measured: t.measured.Bool, SetAt: record.Time(t.setAt.String),
	}
	if s := t.second; s[0].Valid && s[1].Valid && s[2].Valid {
		out.Second = &cie.Lab{L: s[0].Float64, A: s[1].Float64, B: s[2].Float64}
	}
	return out
}

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
	rows, err := b.from.QueryContext(ctx, `
		SELECT aim, l, a, b, within, source, measured, second_l, second_a, second_b, set_at FROM target
		WHERE line_id = (SELECT id FROM line WHERE key = ?) ORDER BY id DESC`, naming.Key(n.Name))
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	targets := []Target{}
	for rows.Next() {
		var t targetRow
		if err := rows.Scan(t.fields()...); err != nil {
			return nil, sqlite.Wrap(err)
		}
		targets = append(targets, *t.target())
	}
	return targets, sqlite.Wrap(rows.Err())
}

// EnsureSeason adds the season ("2026") when it is new. Its name obeys [naming.CleanID].
func (b *Book) EnsureSeason(ctx context.Context, name string) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		_, err := ensureSeason(tx, name)
		return err
	})
}

func ensureSeason(tx *sql.Tx, name string) (int64, error) {
	clean, err := naming.CleanID(name)
	if err != nil {
		return 0, fmt.Errorf("season: %w", err)
	}
	id, _, err := ensure(tx, "SELECT id FROM season WHERE key = ?", []any{naming.Key(clean)},
		"INSERT INTO season (name, key) VALUES (?, ?)", []any{clean, naming.Key(clean)})
	return id, err
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
