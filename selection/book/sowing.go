package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
)

// NewSowing is seed of a packet to be noted as sown.
type NewSowing struct {
	Packet string
	Line   string // of the plants; empty: that of the packet
	Season string
	Sown   time.Time
	Seeds  int     // 0: all that is left in the packet
	Grams  float64 // 0: not weighed
	Note   string
}

// AddSowing notes that seeds of a packet were sown, and returns the sowing with
// the name that the book made, and the packet as it is now: its Sown may exceed its
// Seeds, which is for the caller to say.
func (b *Book) AddSowing(ctx context.Context, n NewSowing) (*Sowing, *Packet, error) {
	if err := errors.Join(checkCount("seeds", &n.Seeds), checkGrams(n.Grams)); err != nil {
		return nil, nil, err
	}
	typed := n.Packet
	var name string
	p, _, err := b.changePacket(ctx, typed, func(tx *sql.Tx, row int64, packet string) (string, error) {
		var held sql.NullInt64
		var taken int
		var line string
		if err := tx.QueryRow(`SELECT k.seeds, n.name, `+record.TakenOf+`
			FROM packet k JOIN line n ON n.id = k.line_id WHERE k.id = ?`, row).Scan(&held, &line, &taken); err != nil {
			return "", err
		}
		if n.Seeds == 0 {
			if !held.Valid || int(held.Int64) <= taken {
				return "", remedy.Step(remedy.SaySeeds).Errorf("packet %q: say how many seeds were sown", packet)
			}
			n.Seeds = int(held.Int64) - taken
		}
		if n.Line == "" {
			n.Line = line
		}
		lineID, _, err := b.ensureLine(tx, n.Line)
		if err != nil {
			return "", err
		}
		season, err := record.EnsureSeason(tx, n.Season)
		if err != nil {
			return "", err
		}
		if name, err = record.NextName(tx, "S", "sowing", n.Season); err != nil {
			return "", err
		}
		_, err = tx.Exec("INSERT INTO sowing (name, key, packet_id, line_id, season_id, sown_on, seeds, grams, note, added_at) "+
			"VALUES (?, ?, ?, ?, ?, ?, ?, nullif(?, 0), ?, ?)",
			name, naming.Key(name), row, lineID, season, dayText(n.Sown), n.Seeds, n.Grams, n.Note, b.Stamp())
		return fmt.Sprintf("sowing %s: %d seeds of %s", name, n.Seeds, packet), err
	})
	if err != nil {
		return nil, nil, err
	}
	w, err := b.sowing(ctx, name)
	return w, p, err
}

// sowing is the sowing of that full name.
func (b *Book) sowing(ctx context.Context, name string) (*Sowing, error) {
	list, err := record.Sowings(ctx, b.from, "w.key = ?", naming.Key(name))
	if err != nil || len(list) == 0 {
		return nil, errors.Join(err, fmt.Errorf("sowing %q: %w", name, ErrNotFound))
	}
	return &list[0], nil
}

// CameUp adds the plants that came of a sowing: so many with ids that the book
// makes, or those of the ids given. Their parents, line, season and founder group
// are those of the seed. It returns their ids, and whether there are more of them
// than seeds were sown. The error wraps ErrDuplicate for an id that is taken.
func (b *Book) CameUp(ctx context.Context, sowing string, n int, ids []string) (names []string, over bool, err error) {
	if n < 0 || n > maxPlants || n == 0 && len(ids) == 0 || len(ids) > maxPlants {
		return nil, false, fmt.Errorf("%d plants; want 1 to %d", max(n, len(ids)), maxPlants)
	}
	err = b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, name, err := record.Find(context.Background(), tx, "sowing", sowing)
		if err != nil {
			return "", err
		}
		var line, season int64
		var seeds, had int
		var seasonName, group string
		var parents [2]sql.NullInt64
		if err := tx.QueryRow(`SELECT w.line_id, w.season_id, s.name, w.seeds, k.founder_group, c.seed_parent_id, c.pollen_parent_id,
				(SELECT count(*) FROM plant WHERE sowing_id = w.id)
			FROM sowing w JOIN season s ON s.id = w.season_id JOIN packet k ON k.id = w.packet_id LEFT JOIN "cross" c ON c.id = k.cross_id
				WHERE w.id = ?`, row).
			Scan(&line, &season, &seasonName, &seeds, &group, &parents[0], &parents[1], &had); err != nil {
			return "", err
		}
		if len(ids) == 0 {
			if names, err = record.NextNames(tx, "", "plant", seasonName, n); err != nil {
				return "", err
			}
		} else if names, err = record.FreeIDs(tx, ids); err != nil {
			return "", err
		}
		over = had+len(names) > seeds
		for _, id := range names {
			if _, err := tx.Exec(`INSERT INTO plant (name, key, line_id, season_id, status, seed_parent_id, pollen_parent_id, founder_group, note,
				added_at, sowing_id)
				VALUES (?, ?, ?, ?, ?, ?, ?, ?, '', ?, ?)`, id, naming.Key(id), line, season, Growing, parents[0], parents[1], group, b.Stamp(),
				row); err != nil {
				return "", err
			}
		}
		return fmt.Sprintf("%d plants of sowing %s: %s", len(names), name, nameList(names)), nil
	})
	return names, over, err
}

// maxPlants is the most that one sowing is believed to give at once.
const maxPlants = 5000
