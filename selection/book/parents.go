package book

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hueward/selection/book/merge"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
	"hueward/selection/genetics"
)

// Pedigree returns the parents of every plant, in order of entry. A founder's
// inbreeding is its own, else its group's, else 0.
func (b *Book) Pedigree(ctx context.Context) ([]genetics.Parents, error) {
	groups, err := sqlite.Pairs[string, float64](ctx, b.from, "SELECT key, inbreeding FROM founder_group WHERE inbreeding IS NOT NULL")
	if err != nil {
		return nil, err
	}
	list, err := record.InHalves(ctx, b.from, func(half string, middle int64) ([]pedigreeRow, error) {
		return sqlite.Collect(ctx, b.from, `SELECT p.id, p.name, p.seed_parent_id, p.pollen_parent_id, nullif(p.founder_group, ''),
				p.founder_inbreeding FROM plant p WHERE 1`+half+" ORDER BY p.id", []any{middle}, func(rows *sql.Rows, v *pedigreeRow) error {
			return rows.Scan(&v.id, &v.name, &v.parents[0], &v.parents[1], &v.group, &v.inbreeding)
		})
	})
	if err != nil {
		return nil, err
	}
	names := make(map[int64]string, len(list))
	for i := range list {
		names[list[i].id] = list[i].name
	}
	out := make([]genetics.Parents, len(list))
	for i := range list {
		r := &list[i]
		p := genetics.Parents{ID: r.name, Group: r.group.String, Seed: names[r.parents[0].Int64],
			Pollen: names[r.parents[1].Int64]} // ids begin at 1: none is ""
		switch {
		case r.parents[0].Valid || r.parents[1].Valid:
		case r.inbreeding.Valid:
			p.Inbreeding = r.inbreeding.Float64
		case p.Group != "":
			p.Inbreeding = groups[naming.Key(p.Group)]
		}
		out[i] = p
	}
	return out, nil
}

// pedigreeRow is a plant of the pedigree as it is read.
type pedigreeRow struct {
	id         int64
	name       string
	parents    [2]sql.NullInt64
	group      sql.NullString
	inbreeding sql.NullFloat64
}

// SetParents sets the parents of plants, of all of them or none; an empty seed or pollen
// is an unknown parent. It returns ErrNotFound for a plant that is not in the
// book, and [record.ErrOwnAncestor] if a parent is one of the plants or descends from one.
func (b *Book) SetParents(ctx context.Context, seed, pollen string, plants ...string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		words := [2]string{"not known", "not known"}
		names := t.Every("plant", plants, func(row int64, name string) {
			var parents [2]any
			for i, typed := range [2]string{seed, pollen} {
				if typed == "" {
					continue
				}
				var parent int64
				t.In(fmt.Sprintf("parent of plant %q", name), func() { parent, words[i] = t.Find("plant", typed) })
				t.NotOwnAncestor(row, name, parent, words[i])
				parents[i] = parent
			}
			t.OfSeed(row, name)
			t.Do("UPDATE plant SET seed_parent_id = ?1, pollen_parent_id = ?2 WHERE id = ?3 OR clone_of_id = ?3", parents[0], parents[1], row)
			t.NotBefore(row, "id")
		})
		return fmt.Sprintf("parents of %s: %s × %s", nameList(names), words[0], words[1])
	})
}

// Merged is the result of [Book.MergePlants].
type Merged = merge.Merged

// MergePlants merges two plants that turned out to be the same one: all that depends on the first moves to the
// second, and the first is removed. Where both say something, the second's counts, except that notes are joined
// and the newer score counts. Heads keep their names, which are on tags. The error wraps ErrNotFound, or
// [record.ErrOwnAncestor] if one of the two descends from the other.
func (b *Book) MergePlants(ctx context.Context, plant, into string) (out *Merged, err error) {
	err = b.Change(ctx, func(t *record.Tx) string {
		out = merge.Plants(t, plant, into)
		return fmt.Sprintf("plant %s merged into %s", out.Plant, out.Into)
	})
	return out, err
}

// ensureGroup returns the founder group's name as the book has it, adding the group if it is new.
func (b *Book) ensureGroup(t *record.Tx, name string) string {
	clean, err := naming.CleanLine(name)
	if err != nil {
		t.Failf("founder group: %w", err)
	}
	id, _ := t.Ensure("founder_group", clean, b.Stamp())
	t.Get("SELECT name FROM founder_group WHERE id = ?", id).Into(&clean)
	return clean
}

// SetFounderGroup adds a founder group, such as a bought variety, or changes its
// facts. Inbreeding, from 0 for plants that mate freely to 1 for an inbred line,
// applies to those of its plants that have no value of their own; nil: not known.
func (b *Book) SetFounderGroup(ctx context.Context, g FounderGroup) error {
	if g.Inbreeding != nil && !(*g.Inbreeding >= 0 && *g.Inbreeding <= 1) {
		return fmt.Errorf("founder group %q: inbreeding %v; want 0 to 1", g.Name, *g.Inbreeding)
	}
	return b.Change(ctx, func(t *record.Tx) string {
		name := b.ensureGroup(t, g.Name)
		t.Do("UPDATE founder_group SET inbreeding = ?, note = ? WHERE key = ?", g.Inbreeding, g.Note, naming.Key(name))
		return "founder group " + name
	})
}

// setPlants sets a column of plants, of all of them or none, and returns a description of the change.
func setPlants(t *record.Tx, column string, value any, plants []string, what string) string {
	names := t.Every("plant", plants, func(row int64, _ string) { t.Do("UPDATE plant SET "+column+" = ? WHERE id = ?", value, row) })
	return nameList(names) + ": " + what
}

// SetFounders sets the founder group of plants, of all of them or none; an empty group removes it.
func (b *Book) SetFounders(ctx context.Context, group string, plants ...string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		name := ""
		if group != "" {
			name = b.ensureGroup(t, group)
		}
		return setPlants(t, "founder_group", name, plants, "founder group "+cmp.Or(name, "none"))
	})
}

// SetPlace sets where plants stand in the bed, for all of them or none; an empty place removes it.
func (b *Book) SetPlace(ctx context.Context, place string, plants ...string) error {
	if err := cleanLabels(&place); err != nil {
		return err
	}
	return b.Change(ctx, func(t *record.Tx) string { return setPlants(t, "place", place, plants, "place "+place) })
}

// MovePlants moves plants to another line, added when new, all of them or none.
func (b *Book) MovePlants(ctx context.Context, line string, plants ...string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		id, _ := b.ensureLine(t, line)
		return setPlants(t, "line_id", id, plants, "line "+line)
	})
}

// Remove removes something that was entered by mistake; kind is "plant", "cross", "head", "packet", "sowing" or
// "pollen". It fails, changing nothing, if something else in the book depends on it, as a photo does on a plant.
func (b *Book) Remove(ctx context.Context, kind, name string) (full string, err error) {
	if !slices.Contains([]string{"plant", "cross", "head", "packet", "sowing", "pollen"}, kind) {
		return "", fmt.Errorf("%q cannot be taken out", kind)
	}
	err = b.Change(ctx, func(t *record.Tx) string {
		row, found := t.Find(kind, name)
		full = found
		if kind == "cross" { // its heads are removed, too, if nothing was noted about them
			t.Do(`DELETE FROM head WHERE cross_id = ?1 AND bagged_on IS NULL
				AND emasculated_on IS NULL AND harvested_on IS NULL AND lost_on IS NULL
				AND note = ''
				AND NOT EXISTS (SELECT 1 FROM pollination WHERE head_id = head.id)`, row)
		}
		if t.Err() != nil {
			return ""
		}
		_, err := t.Exec(fmt.Sprintf("DELETE FROM %q WHERE id = ?", kind), row)
		switch {
		case err == nil || !strings.Contains(err.Error(), "FOREIGN KEY"):
			t.Fail(err)
		case kind == "plant":
			rests, err := record.RestingOn(context.Background(), t, row)
			t.Fail(err)
			t.Fail(remedy.Step(remedy.MergePlants, found, "OTHER").Errorf("plant %q cannot be taken out: it has %s; take these out "+
				"first, or give them to the plant that it is", found, rests))
		default:
			t.Failf("%s %q: something else in the book depends on it; take that out or change it first", kind, found)
		}
		return kind + " " + found + " taken out"
	})
	return full, err
}

// FounderGroups returns the groups in order of name.
func (b *Book) FounderGroups(ctx context.Context) ([]FounderGroup, error) {
	groups, err := sqlite.Collect(ctx, b.from, "SELECT name, inbreeding, note FROM founder_group ORDER BY key", nil, func(rows *sql.Rows,
		g *FounderGroup) error {
		return rows.Scan(&g.Name, &g.Inbreeding, &g.Note)
	})
	if err != nil {
		return nil, err
	}
	plants, err := sqlite.Pairs[string, int](ctx, b.from,
		"SELECT founder_group, count(*) FROM plant WHERE founder_group <> '' GROUP BY founder_group")
	at := map[string]int{} // by key, as SQLite's lower() only changes ASCII letters
	for i, g := range groups {
		at[naming.Key(g.Name)] = i
	}
	for _, name := range slices.Sorted(maps.Keys(plants)) {
		i, ok := at[naming.Key(name)]
		if !ok { // only named by a plant, without facts of its own
			i = len(groups)
			at[naming.Key(name)], groups = i, append(groups, FounderGroup{Name: name})
		}
		groups[i].Plants += plants[name]
	}
	slices.SortStableFunc(groups, func(x, y FounderGroup) int { return strings.Compare(naming.Key(x.Name), naming.Key(y.Name)) })
	return groups, err
}
