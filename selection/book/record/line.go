package record

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/sqlite"
)

// Aim says what a line is selected for.
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

// Target is one setting of a line's aim and shade. Setting a new one keeps the old in the line's history.
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

// Pair puts that colour of r first by which the plant is ranked. For a target of one colour it is the largest. For a
// target of two, the pair of petal colours is found that together lies nearest to the target's two; so a flamed tulip is
// ranked by its yellow whether the flames cover a third of it or two thirds. Pair changes r's Lab and the order of its
// Colors in place.
func (t *Target) Pair(r *Reading) {
	c := r.Measured.Colors
	if t == nil || t.Second == nil || r.Measured.Lab == nil || len(c) < 2 {
		return
	}
	bi, bj, best := 0, 1, math.Inf(1)
	for i := range c {
		for j := range c {
			if i == j {
				continue
			}
			if d := cie.DeltaE2000(c[i].Lab.Lab(), t.Lab) + cie.DeltaE2000(c[j].Lab.Lab(), *t.Second); d < best {
				bi, bj, best = i, j, d
			}
		}
	}
	order := []colorimg.Share{c[bi], c[bj]}
	for k := range c {
		if k != bi && k != bj {
			order = append(order, c[k])
		}
	}
	r.Measured.Colors = order
	r.Measured.Lab = new(order[0].Lab) // also of petals that shade from one colour into another, whose Lab is the middle
}

// PairAll pairs every reading.
func (t *Target) PairAll(rs []Reading) {
	for i := range rs {
		t.Pair(&rs[i])
	}
}

// SecondDeltaE returns, by plant, the mean Delta E 2000 between the plant's second colour and the
// target's. The readings must be paired; plants whose petals have one colour are left out.
func (t *Target) SecondDeltaE(rs []Reading) map[string]float64 {
	out := map[string]float64{}
	if t == nil || t.Second == nil {
		return out
	}
	n := map[string]float64{}
	for i := range rs {
		if c := rs[i].Measured.Colors; len(c) > 1 && rs[i].Plant != "" {
			out[rs[i].Plant] += cie.DeltaE2000(c[1].Lab.Lab(), *t.Second)
			n[rs[i].Plant]++
		}
	}
	for p := range out {
		out[p] /= n[p]
	}
	return out
}

// Season returns the row of the season, adding it if it is new.
func (t *Tx) Season(name string) int64 {
	clean, err := naming.CleanID(name)
	if err != nil {
		t.Failf("season: %w", err)
	}
	id, _ := t.Ensure("season", clean, "")
	return id
}

// Ensure returns the row of that name, adding it if it is new; at is the time to note with it, or empty if the table
// has no such column.
func (t *Tx) Ensure(table, name, at string) (id int64, isNew bool) {
	switch key := naming.Key(name); {
	case t.Get(fmt.Sprintf("SELECT id FROM %q WHERE key = ?", table), key).Found(&id):
		return id, false
	case at == "":
		return t.Add(table, "name, key", name, key), true
	default:
		return t.Add(table, "name, key, added_at", name, key, at), true
	}
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
		Within: t.within.Float64, Source: t.source.String, Measured: t.measured.Bool, SetAt: Time(t.setAt.String),
	}
	if s := t.second; s[0].Valid && s[1].Valid && s[2].Valid {
		out.Second = &cie.Lab{L: s[0].Float64, A: s[1].Float64, B: s[2].Float64}
	}
	return out
}

// Lines returns the lines that the SQL in where selects, with alias n, in natural order of name.
func Lines(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Line, error) {
	lines, err := sqlite.Collect(ctx, q, `
		SELECT n.name, n.note, (SELECT count(*) FROM plant WHERE line_id = n.id),
		       t.aim, t.l, t.a, t.b, t.within, t.source, t.measured, t.second_l, t.second_a, t.second_b, t.set_at
		FROM line n LEFT JOIN target t ON t.id = (SELECT max(id) FROM target WHERE line_id = n.id) `+where, args,
		func(rows *sql.Rows, n *Line) error {
			var t targetRow
			err := rows.Scan(append([]any{&n.Name, &n.Note, &n.Plants}, t.fields()...)...)
			n.Target = t.target()
			return err
		})
	return byName(lines, err, func(n *Line) string { return n.Name })
}
