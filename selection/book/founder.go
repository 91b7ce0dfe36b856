package book

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
)

// ensureGroup returns the founder group's name as the book has it, added when new.
func (b *Book) ensureGroup(tx *sql.Tx, name string) (string, error) {
	clean, err := naming.CleanLine(name)
	if err != nil {
		return "", fmt.Errorf("founder group: %w", err)
	}
	id, _, err := record.Ensure(tx, "SELECT id FROM founder_group WHERE key = ?", []any{naming.Key(clean)},
		"INSERT INTO founder_group (name, key, added_at) VALUES (?, ?, ?)", []any{clean, naming.Key(clean), b.Stamp()})
	if err != nil {
		return "", err
	}
	err = tx.QueryRow("SELECT name FROM founder_group WHERE id = ?", id).Scan(&clean)
	return clean, err
}

// SetFounderGroup adds a founder group, such as a bought variety, or changes what
// is said of it. Inbreeding, from 0 of plants that mate freely to 1 of an inbred
// line, holds for those of its plants that do not say it themselves; nil: not known.
func (b *Book) SetFounderGroup(ctx context.Context, g FounderGroup) error {
	if g.Inbreeding != nil && !(*g.Inbreeding >= 0 && *g.Inbreeding <= 1) {
		return fmt.Errorf("founder group %q: inbreeding %v; want 0 to 1", g.Name, *g.Inbreeding)
	}
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		name, err := b.ensureGroup(tx, g.Name)
		if err != nil {
			return "", err
		}
		_, err = tx.Exec("UPDATE founder_group SET inbreeding = ?, note = ? WHERE key = ?", g.Inbreeding, g.Note, naming.Key(name))
		return "founder group " + name, err
	})
}

// SetFounders says that plants are founders of a group, an empty one of none. All
// of them are changed or none.
func (b *Book) SetFounders(ctx context.Context, group string, plants ...string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		name := ""
		if group != "" {
			var err error
			if name, err = b.ensureGroup(tx, group); err != nil {
				return "", err
			}
		}
		var full []string
		for _, typed := range plants {
			row, id, err := record.Find(context.Background(), tx, "plant", typed)
			if err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE plant SET founder_group = ? WHERE id = ?", name, row); err != nil {
				return "", err
			}
			full = append(full, id)
		}
		if name == "" {
			name = "none"
		}
		return fmt.Sprintf("%s: founder group %s", nameList(full), name), nil
	})
}

// Remove takes something out that was entered by mistake: a plant, "cross",
// head, packet, sowing or stored "pollen". It fails, changing nothing, where something else in the
// book rests on it: a photo on a plant, a packet on a head.
func (b *Book) Remove(ctx context.Context, kind, name string) (full string, err error) {
	switch kind {
	case "plant", "cross", "head", "packet", "sowing", "pollen":
	default:
		return "", fmt.Errorf("%q cannot be taken out", kind)
	}
	err = b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, found, err := record.Find(context.Background(), tx, kind, name)
		if err != nil {
			return "", err
		}
		full = found
		if kind == "cross" { // heads of which nothing was noted go with it
			if _, err := tx.Exec(`DELETE FROM head WHERE cross_id = ?1 AND bagged_on IS NULL
				AND emasculated_on IS NULL AND harvested_on IS NULL AND lost_on IS NULL
				AND note = ''
				AND NOT EXISTS (SELECT 1 FROM pollination WHERE head_id = head.id)`, row); err != nil {
				return "", err
			}
		}
		if _, err := tx.Exec(fmt.Sprintf("DELETE FROM %q WHERE id = ?", kind), row); err != nil {
			if strings.Contains(err.Error(), "FOREIGN KEY") && kind == "plant" {
				rests, err := record.RestingOn(context.Background(), tx, row)
				if err != nil {
					return "", err
				}
				return "", remedy.Step(remedy.MergePlants, found, "OTHER").Errorf("plant %q cannot be taken out: it has %s; take these out "+
					"first, or give them to the plant that it is", found, rests)
			}
			if strings.Contains(err.Error(), "FOREIGN KEY") {
				return "", fmt.Errorf("%s %q: something else in the book depends on it; take that out or change it first", kind, found)
			}
			return "", err
		}
		return kind + " " + found + " taken out", nil
	})
	return full, err
}
