package book

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
)

// HeadFix is what is corrected of a head; nil leaves it as it is, the zero time
// takes a day away.
type HeadFix struct {
	Bagged, Emasculated, StigmasDry, Harvested, Lost *time.Time
	Seeds                                            *int        // negative: not counted
	Cross                                            *string     // empty: not said
	Pollinated                                       []time.Time // days to add
	NotPollinated                                    []time.Time // days to take away
	Note                                             *string
}

// FixHead corrects a head, and returns it as it is now. Days must still follow
// in the order of a season.
func (b *Book) FixHead(ctx context.Context, name string, fix HeadFix) (*Head, error) {
	var full string
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, found, err := record.Find(context.Background(), tx, "head", name)
		if err != nil {
			return "", err
		}
		full = found
		for column, day := range map[string]*time.Time{"bagged_on": fix.Bagged, "emasculated_on": fix.Emasculated,
			"stigmas_dry_on": fix.StigmasDry, "harvested_on": fix.Harvested,
			"lost_on": fix.Lost} {
			if day == nil {
				continue
			}
			if _, err := tx.Exec("UPDATE head SET "+column+" = ? WHERE id = ?", dayText(*day), row); err != nil {
				return "", err
			}
		}
		if fix.Seeds != nil {
			if err := checkCount("seeds", nonNegative(*fix.Seeds)); err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE head SET seeds = ? WHERE id = ?", record.CountOf(nonNegative(*fix.Seeds)), row); err != nil {
				return "", err
			}
		}
		if fix.Note != nil {
			if _, err := tx.Exec("UPDATE head SET note = ? WHERE id = ?", *fix.Note, row); err != nil {
				return "", err
			}
		}
		for _, d := range fix.Pollinated {
			if _, err := tx.Exec("INSERT INTO pollination (head_id, day) VALUES (?, ?) ON CONFLICT DO NOTHING", row, dayText(d)); err != nil {
				return "", err
			}
		}
		for _, d := range fix.NotPollinated {
			res, err := tx.Exec("DELETE FROM pollination WHERE head_id = ? AND day = ?", row, dayText(d))
			if err != nil {
				return "", err
			}
			if n, err := res.RowsAffected(); err != nil || n == 0 {
				return "", fmt.Errorf("head %q was not pollinated on %s", full, d.Format(time.DateOnly))
			}
		}
		if fix.Cross != nil {
			if err := fixCrossOf(tx, row, full, *fix.Cross); err != nil {
				return "", err
			}
		}
		return "head " + full + " corrected", daysInOrder(tx, row, full)
	})
	if err != nil {
		return nil, err
	}
	heads, err := b.headsNamed(ctx, []string{full})
	if err != nil {
		return nil, err
	}
	return &heads[0], nil
}

// nonNegative is n, or nil for a negative one: not counted.
func nonNegative(n int) *int {
	if n < 0 {
		return nil
	}
	return &n
}

func fixCrossOf(tx *sql.Tx, head int64, name, typed string) error {
	cross, seed, err := crossNamed(tx, typed)
	if err != nil {
		return err
	}
	var plant int64
	var packet sql.NullString
	if err := tx.QueryRow(`SELECT plant_id, (SELECT k.name FROM packet_head x JOIN packet k ON k.id = x.packet_id
		WHERE x.head_id = head.id LIMIT 1)
		FROM head WHERE id = ?`, head).Scan(&plant, &packet); err != nil {
		return err
	}
	switch {
	case packet.Valid:
		return remedy.Step(remedy.FixCross).Errorf("head %q: its seed is in packet %s, which is of a cross; correct the cross instead", name,
			packet.String)
	case cross != 0 && seed != plant:
		return fmt.Errorf("head %q is not of cross %q's seed parent", name, typed)
	}
	var id any
	if cross != 0 {
		id = cross
	}
	_, err = tx.Exec("UPDATE head SET cross_id = ? WHERE id = ?", id, head)
	return err
}

// daysInOrder fails when what was noted of a head cannot have happened so.
func daysInOrder(tx *sql.Tx, head int64, name string) error {
	var days [6]sql.NullString
	var emasculated sql.NullString
	if err := tx.QueryRow(`SELECT bagged_on, (SELECT min(day) FROM pollination WHERE head_id = head.id), (SELECT max(day) FROM pollination
		WHERE head_id = head.id),
			stigmas_dry_on, harvested_on, lost_on,
			emasculated_on FROM head WHERE id = ?`, head).Scan(&days[0], &days[1], &days[2], &days[3], &days[4],
		&days[5], &emasculated); err != nil {
		return err
	}
	for i, what := range map[int]string{3: "its stigmas were dry", 4: "it was harvested"} {
		if emasculated.Valid && days[i].Valid && days[i].String < emasculated.String {
			return fmt.Errorf("head %q: emasculated on %s, after %s on %s", name, emasculated.String, what, days[i].String)
		}
	}
	words := [...]string{"bagged", "pollinated", "pollinated", "dry", "harvested"}
	last := -1
	for i := range words {
		if !days[i].Valid {
			continue
		}
		if last >= 0 && days[i].String < days[last].String {
			return fmt.Errorf("head %q: %s on %s, before it was %s on %s", name, words[i], days[i].String, words[last], days[last].String)
		}
		last = i
	}
	if days[4].Valid && days[5].Valid {
		return fmt.Errorf("head %q: harvested on %s and lost on %s; take one of them away", name, days[4].String, days[5].String)
	}
	return nil
}
