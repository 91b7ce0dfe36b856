package book

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// ensureGroup returns the founder group's name as the book has it, added when new.
func (b *Book) ensureGroup(t *record.Tx, name string) string {
	clean, err := naming.CleanLine(name)
	if err != nil {
		t.Failf("founder group: %w", err)
	}
	id, _ := t.Ensure("founder_group", clean, b.Stamp())
	t.Get("SELECT name FROM founder_group WHERE id = ?", id).Into(&clean)
	return clean
}

// SetFounderGroup adds a founder group, such as a bought variety, or changes what
// is said of it. Inbreeding, from 0 of plants that mate freely to 1 of an inbred
// line, holds for those of its plants that do not say it themselves; nil: not known.
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

// setPlants sets a column of plants, of all of them or none, and says in words of which it is what.
func setPlants(t *record.Tx, column string, value any, plants []string, what string) string {
	names := t.Every("plant", plants, func(row int64, _ string) { t.Do("UPDATE plant SET "+column+" = ? WHERE id = ?", value, row) })
	return nameList(names) + ": " + what
}

// SetFounders says that plants are founders of a group, an empty one of none. All
// of them are changed or none.
func (b *Book) SetFounders(ctx context.Context, group string, plants ...string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		name := ""
		if group != "" {
			name = b.ensureGroup(t, group)
		}
		return setPlants(t, "founder_group", name, plants, "founder group "+cmp.Or(name, "none"))
	})
}

// SetPlace says where plants stand in the bed, of all or of none; empty takes it away.
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

// Remove takes something out that was entered by mistake: a plant, "cross",
// head, packet, sowing or stored "pollen". It fails, changing nothing, where something else in the
// book rests on it: a photo on a plant, a packet on a head.
func (b *Book) Remove(ctx context.Context, kind, name string) (full string, err error) {
	if !slices.Contains([]string{"plant", "cross", "head", "packet", "sowing", "pollen"}, kind) {
		return "", fmt.Errorf("%q cannot be taken out", kind)
	}
	err = b.Change(ctx, func(t *record.Tx) string {
		row, found := t.Find(kind, name)
		full = found
		if kind == "cross" { // heads of which nothing was noted go with it
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
	at := map[string]int{} // by key: SQLite's lower() knows the letters of ASCII only
	for i, g := range groups {
		at[naming.Key(g.Name)] = i
	}
	for _, name := range slices.Sorted(maps.Keys(plants)) {
		i, ok := at[naming.Key(name)]
		if !ok { // a table of plants names it, and nothing more is known of it
			i = len(groups)
			at[naming.Key(name)], groups = i, append(groups, FounderGroup{Name: name})
		}
		groups[i].Plants += plants[name]
	}
	slices.SortStableFunc(groups, func(x, y FounderGroup) int { return strings.Compare(naming.Key(x.Name), naming.Key(y.Name)) })
	return groups, err
}
