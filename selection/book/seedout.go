package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"hueward/selection/book/record"
)

// TakeOut notes seed that was given away, sold or lost, and returns the packet, and
// whether more seeds were taken from it than it held.
func (b *Book) TakeOut(ctx context.Context, packet string, o SeedOut) (p *Packet, over bool, err error) {
	switch {
	case !slices.Contains(record.Outs, o.How):
		return nil, false, fmt.Errorf("%q is no way for seed to leave a packet", o.How)
	case o.Seeds < 1 || o.Seeds > maxCount:
		return nil, false, fmt.Errorf("%d seeds; want 1 or more", o.Seeds)
	}
	if err := checkGrams(o.Grams); err != nil {
		return nil, false, err
	}
	return b.changePacket(ctx, packet, func(t *record.Tx, row int64, name string) string {
		t.Add("seed_out", "packet_id, day, how, seeds, grams, to_whom, note", row, dayText(o.On), o.How, o.Seeds, record.OrNull(o.Grams),
			strings.TrimSpace(o.To), o.Note)
		return fmt.Sprintf("%d seeds of %s %s", o.Seeds, name, o.How)
	})
}

// PlantOut notes that the plants of sowings were planted out, of all or of none; the
// zero day takes it away.
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

// checkGrams refuses a weight that cannot be one.
func checkGrams(g float64) error {
	if !(g >= 0 && g <= maxGrams) {
		return fmt.Errorf("%v grams; want more than 0, up to %d", g, maxGrams)
	}
	return nil
}

// maxGrams is the heaviest packet that is believed.
const maxGrams = 1_000_000

// ErrNoSetting says that a setting was never made.
var ErrNoSetting = errors.New("was not said yet")

// LastFrost is the month and day of the usual last frost of spring, at midnight UTC of
// the year 0; ErrNoSetting where it was not said.
func (b *Book) LastFrost(ctx context.Context) (time.Time, error) {
	var s string
	err := b.from.QueryRowContext(ctx, "SELECT value FROM setting WHERE name = 'last-frost'").Scan(&s)
	if errors.Is(err, sql.ErrNoRows) {
		return time.Time{}, fmt.Errorf("the last frost %w", ErrNoSetting)
	}
	if err != nil {
		return time.Time{}, err
	}
	return time.Parse(monthDay, s)
}

const monthDay = "01-02"

// SetLastFrost says when the usual last frost is: of on, the month and day count. Nil
// takes it away.
func (b *Book) SetLastFrost(ctx context.Context, on *time.Time) error {
	return b.Change(ctx, func(t *record.Tx) string {
		t.Do("DELETE FROM setting WHERE name = 'last-frost'")
		if on == nil {
			return "last frost not set"
		}
		t.Add("setting", "name, value", "last-frost", on.Format(monthDay))
		return "last frost " + on.Format("2 January")
	})
}
