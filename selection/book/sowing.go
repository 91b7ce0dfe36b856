package book

import (
	"cmp"
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

// AddSowing notes that seeds of a packet were sown, and returns the sowing with the name that the book made, and the
// packet as it is now: its Sown may exceed its Seeds, which is for the caller to say.
func (b *Book) AddSowing(ctx context.Context, n NewSowing) (*Sowing, *Packet, error) {
	if err := errors.Join(checkCount("seeds", &n.Seeds), checkGrams(n.Grams)); err != nil {
		return nil, nil, err
	}
	var name string
	p, _, err := b.changePacket(ctx, n.Packet, func(t *record.Tx, row int64, packet string) string {
		var held sql.NullInt64
		var taken int
		var line string
		t.Get("SELECT k.seeds, n.name, "+record.TakenOf+" FROM packet k JOIN line n ON n.id = k.line_id WHERE k.id = ?", row).
			Into(&held, &line, &taken)
		if n.Seeds == 0 {
			if n.Seeds = int(held.Int64) - taken; !held.Valid || n.Seeds <= 0 {
				t.Fail(remedy.Step(remedy.SaySeeds).Errorf("packet %q: say how many seeds were sown", packet))
			}
		}
		lineID, _ := b.ensureLine(t, cmp.Or(n.Line, line))
		_, name = t.AddNamed("S", "sowing", n.Season, "packet_id, line_id, sown_on, seeds, grams, note, added_at", row, lineID, dayText(n.Sown),
			n.Seeds, record.OrNull(n.Grams), n.Note, b.Stamp())
		return fmt.Sprintf("sowing %s: %d seeds of %s", name, n.Seeds, packet)
	})
	if err != nil {
		return nil, nil, err
	}
	w, err := sowingRecords.named(ctx, b, name)
	return w, p, err
}

// CameUp adds the plants that came of a sowing: so many with ids that the book makes, or those of the ids given. Their
// parents, line, season and founder group are those of the seed. It returns their ids, and whether there are more of
// them than seeds were sown. The error wraps ErrDuplicate for an id that is taken.
func (b *Book) CameUp(ctx context.Context, sowing string, n int, ids []string) (names []string, over bool, err error) {
	if err := checkPlants(n, ids); err != nil {
		return nil, false, err
	}
	err = b.Change(ctx, func(t *record.Tx) string {
		row, name := t.Find("sowing", sowing)
		var line, season int64
		var seeds, had int
		var seasonName, group string
		var parents [2]sql.NullInt64
		t.Get(`SELECT w.line_id, w.season_id, s.name, w.seeds, k.founder_group, c.seed_parent_id, c.pollen_parent_id,
				(SELECT count(*) FROM plant WHERE sowing_id = w.id)
			FROM sowing w JOIN season s ON s.id = w.season_id JOIN packet k ON k.id = w.packet_id LEFT JOIN "cross" c ON c.id = k.cross_id
				WHERE w.id = ?`, row).
			Into(&line, &season, &seasonName, &seeds, &group, &parents[0], &parents[1], &had)
		names = t.FreeIDs(ids, seasonName, n)
		over = had+len(names) > seeds
		for i, id := range names {
			plant := t.Add("plant", "name, key, line_id, season_id, status, seed_parent_id, pollen_parent_id, founder_group, note, added_at, "+
				"sowing_id", id, naming.Key(id), line, season, Growing, parents[0], parents[1], group, "", b.Stamp(), row)
			if i == 0 { // the others have the same parents and season
				t.NotBefore(plant, "id")
			}
		}
		return fmt.Sprintf("%d plants of sowing %s: %s", len(names), name, nameList(names))
	})
	return names, over, err
}

// maxPlants is the most that one sowing is believed to give at once.
const maxPlants = 5000

// checkPlants refuses a number of new plants, or their ids, that cannot be one.
func checkPlants(n int, ids []string) error {
	if n < 0 || n > maxPlants || n == 0 && len(ids) == 0 || len(ids) > maxPlants {
		return fmt.Errorf("%d plants; want 1 to %d", max(n, len(ids)), maxPlants)
	}
	return nil
}

// PlantOut notes that the plants of sowings were planted out, of all or of none; the zero day takes it away.
func (b *Book) PlantOut(ctx context.Context, on time.Time, sowings ...string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		names := t.Every("sowing", sowings, func(row int64, name string) {
			var sown time.Time
			t.Get("UPDATE sowing SET planted_out_on = ? WHERE id = ? RETURNING sown_on", dayText(on), row).Into(record.AsDay(&sown))
			if !on.IsZero() && on.Before(sown) {
				t.Failf("sowing %q: planted out on %s, before it was sown on %s", name, on.Format(time.DateOnly), sown.Format(time.DateOnly))
			}
		})
		return nameList(names) + " planted out"
	})
}
