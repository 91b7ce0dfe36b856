package book

import (
	"context"
	"database/sql"
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
	return headRecords.fix(ctx, b, name, func(t *record.Tx, row int64, full string) string {
		correct(t, "head", row, columns{"bagged_on": fix.Bagged, "emasculated_on": fix.Emasculated, "stigmas_dry_on": fix.StigmasDry,
			"harvested_on": fix.Harvested, "lost_on": fix.Lost, "seeds": fix.Seeds, "note": fix.Note})
		for _, d := range fix.Pollinated {
			t.Do("INSERT INTO pollination (head_id, day) VALUES (?, ?) ON CONFLICT DO NOTHING", row, dayText(d))
		}
		for _, d := range fix.NotPollinated {
			if t.Do("DELETE FROM pollination WHERE head_id = ? AND day = ?", row, dayText(d)) == 0 {
				t.Failf("head %q was not pollinated on %s", full, d.Format(time.DateOnly))
			}
		}
		if fix.Cross != nil {
			fixCrossOf(t, row, full, *fix.Cross)
		}
		daysInOrder(t, row, full)
		return "head " + full + " corrected"
	})
}

func fixCrossOf(t *record.Tx, head int64, name, typed string) {
	cross, seed := crossNamed(t, typed)
	var plant int64
	var packet sql.NullString
	t.Get(`SELECT plant_id, (SELECT k.name FROM packet_head x JOIN packet k ON k.id = x.packet_id WHERE x.head_id = head.id LIMIT 1)
		FROM head WHERE id = ?`, head).Into(&plant, &packet)
	switch {
	case packet.Valid:
		t.Fail(remedy.Step(remedy.FixCross).Errorf("head %q: its seed is in packet %s, which is of a cross; correct the cross instead", name,
			packet.String))
	case cross != 0 && seed != plant:
		t.Failf("head %q is not of cross %q's seed parent", name, typed)
	}
	t.Do("UPDATE head SET cross_id = ? WHERE id = ?", record.OrNull(cross), head)
}

// daysInOrder fails when what was noted of a head cannot have happened so.
func daysInOrder(t *record.Tx, head int64, name string) {
	var days [6]sql.NullString
	var emasculated sql.NullString
	t.Get(`SELECT bagged_on, (SELECT min(day) FROM pollination WHERE head_id = head.id), (SELECT max(day) FROM pollination
		WHERE head_id = head.id), stigmas_dry_on, harvested_on, lost_on, emasculated_on FROM head WHERE id = ?`, head).
		Into(&days[0], &days[1], &days[2], &days[3], &days[4], &days[5], &emasculated)
	for i, what := range map[int]string{3: "its stigmas were dry", 4: "it was harvested"} {
		if emasculated.Valid && days[i].Valid && days[i].String < emasculated.String {
			t.Failf("head %q: emasculated on %s, after %s on %s", name, emasculated.String, what, days[i].String)
		}
	}
	words := [...]string{"bagged", "pollinated", "pollinated", "dry", "harvested"}
	last := -1
	for i := range words {
		if !days[i].Valid {
			continue
		}
		if last >= 0 && days[i].String < days[last].String {
			t.Failf("head %q: %s on %s, before it was %s on %s", name, words[i], days[i].String, words[last], days[last].String)
		}
		last = i
	}
	if days[4].Valid && days[5].Valid {
		t.Failf("head %q: harvested on %s and lost on %s; take one of them away", name, days[4].String, days[5].String)
	}
}
