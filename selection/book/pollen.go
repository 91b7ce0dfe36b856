package book

import (
	"context"
	"database/sql"
	"time"

	"hueward/selection/book/record"
)

// AddPollen adds pollen that was collected and returns it with the name that the book made.
func (b *Book) AddPollen(ctx context.Context, p Pollen) (*Pollen, error) {
	if err := cleanLabels(&p.Place); err != nil {
		return nil, err
	}
	err := b.Change(ctx, func(t *record.Tx) string {
		plant, name := t.Find("plant", p.Plant)
		var row int64
		row, p.Name = t.AddNamed("L", "pollen", p.Season, "plant_id, collected_on, dried_on, good_until, place, note, added_at", plant,
			dayText(p.Collected), dayText(p.Dried), dayText(p.GoodUntil), p.Place, p.Note, b.Stamp())
		pollenInOrder(t, row, p.Name)
		return "pollen " + p.Name + " of " + name
	})
	if err != nil {
		return nil, err
	}
	return b.PollenNamed(ctx, p.Name)
}

// PollenFix holds changes of stored pollen; a nil field leaves its value as it is, a zero time removes the day.
type PollenFix struct {
	Collected, Dried, GoodUntil, UsedUp *time.Time
	Place, Note                         *string
}

// FixPollen changes stored pollen, all of it or none.
func (b *Book) FixPollen(ctx context.Context, names []string, fix PollenFix) ([]Pollen, error) {
	if err := cleanLabels(fix.Place); err != nil {
		return nil, err
	}
	return pollenRecords.fixAll(ctx, b, names, func(t *record.Tx, row int64, name string) {
		correct(t, "pollen", row, columns{"collected_on": fix.Collected, "dried_on": fix.Dried, "good_until": fix.GoodUntil,
			"used_up_on": fix.UsedUp, "place": fix.Place, "note": fix.Note})
		pollenInOrder(t, row, name)
	}, func(all string) string {
		switch {
		case fix.UsedUp != nil && !fix.UsedUp.IsZero():
			return "pollen " + all + " used up"
		case fix.Dried != nil && !fix.Dried.IsZero():
			return "pollen " + all + " dry"
		}
		return "pollen " + all + " corrected"
	})
}

// pollenInOrder fails if the noted days of stored pollen are not in a possible order.
func pollenInOrder(t *record.Tx, row int64, name string) {
	var days [4]sql.NullString
	t.Get("SELECT collected_on, dried_on, good_until, used_up_on FROM pollen WHERE id = ?", row).Into(&days[0], &days[1], &days[2], &days[3])
	for i, what := range [...]string{"", "dry", "good until", "used up"} {
		if i > 0 && days[i].Valid && days[i].String < days[0].String {
			t.Failf("pollen %q: %s %s, before it was collected on %s", name, what, days[i].String, days[0].String)
		}
	}
}

// PollenNamed returns the stored pollen of that name, with or without the check letter; the error wraps ErrNotFound.
func (b *Book) PollenNamed(ctx context.Context, typed string) (*Pollen, error) {
	return pollenRecords.named(ctx, b, typed)
}

// Pollen returns the stored pollen of a season, or of all with "", in order of name.
func (b *Book) Pollen(ctx context.Context, season string) ([]Pollen, error) {
	return pollenRecords.of(ctx, b, season)
}
