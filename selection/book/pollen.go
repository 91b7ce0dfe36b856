package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// AddPollen notes pollen that was collected, and returns it with the name that the book
// made.
func (b *Book) AddPollen(ctx context.Context, p Pollen) (*Pollen, error) {
	if err := cleanLabels(&p.Place); err != nil {
		return nil, err
	}
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		plant, name, err := record.Find(context.Background(), tx, "plant", p.Plant)
		if err != nil {
			return "", err
		}
		season, err := record.EnsureSeason(tx, p.Season)
		if err != nil {
			return "", err
		}
		if p.Name, err = record.NextName(tx, "L", "pollen", p.Season); err != nil {
			return "", err
		}
		res, err := tx.Exec(`INSERT INTO pollen (name, key, plant_id, season_id, collected_on, dried_on, good_until, place, note, added_at)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, p.Name, naming.Key(p.Name), plant, season, dayText(p.Collected), dayText(p.Dried),
			dayText(p.GoodUntil), p.Place, p.Note, b.Stamp())
		if err != nil {
			return "", err
		}
		row, err := res.LastInsertId()
		if err != nil {
			return "", err
		}
		return "pollen " + p.Name + " of " + name, pollenInOrder(tx, row, p.Name)
	})
	if err != nil {
		return nil, err
	}
	return b.PollenNamed(ctx, p.Name)
}

// PollenFix is what is changed of stored pollen; nil leaves it as it is, the zero time
// takes a day away.
type PollenFix struct {
	Collected, Dried, GoodUntil, UsedUp *time.Time
	Place, Note                         *string
}

// FixPollen changes stored pollen, all of it or none.
func (b *Book) FixPollen(ctx context.Context, names []string, fix PollenFix) ([]Pollen, error) {
	if err := cleanLabels(fix.Place); err != nil {
		return nil, err
	}
	var full []string
	err := b.change(ctx, func(tx *sql.Tx) (string, error) {
		for _, typed := range names {
			row, name, err := record.Find(context.Background(), tx, "pollen", typed)
			if err != nil {
				return "", err
			}
			full = append(full, name)
			set := func(column string, v any) {
				if err == nil {
					_, err = tx.Exec("UPDATE pollen SET "+column+" = ? WHERE id = ?", v, row)
				}
			}
			for column, d := range map[string]*time.Time{"collected_on": fix.Collected, "dried_on": fix.Dried, "good_until": fix.GoodUntil,
				"used_up_on": fix.UsedUp} {
				if d != nil {
					set(column, dayText(*d))
				}
			}
			for column, v := range map[string]*string{"place": fix.Place, "note": fix.Note} {
				if v != nil {
					set(column, *v)
				}
			}
			if err != nil {
				return "", err
			}
			if err := pollenInOrder(tx, row, name); err != nil {
				return "", err
			}
		}
		switch {
		case fix.UsedUp != nil && !fix.UsedUp.IsZero():
			return "pollen " + nameList(full) + " used up", nil
		case fix.Dried != nil && !fix.Dried.IsZero():
			return "pollen " + nameList(full) + " dry", nil
		}
		return "pollen " + nameList(full) + " corrected", nil
	})
	if err != nil {
		return nil, err
	}
	return allNamed(ctx, full, b.PollenNamed)
}

// pollenInOrder fails when what was noted of pollen cannot have happened so.
func pollenInOrder(tx *sql.Tx, row int64, name string) error {
	var days [4]sql.NullString
	if err := tx.QueryRow("SELECT collected_on, dried_on, good_until, used_up_on FROM pollen WHERE id = ?", row).Scan(&days[0], &days[1],
		&days[2], &days[3]); err != nil {
		return err
	}
	for i, what := range [...]string{"", "dry", "good until", "used up"} {
		if i > 0 && days[i].Valid && days[i].String < days[0].String {
			return fmt.Errorf("pollen %q: %s %s, before it was collected on %s", name, what, days[i].String, days[0].String)
		}
	}
	return nil
}

// PollenNamed is the stored pollen of that name, the check letter left out or not; the
// error wraps ErrNotFound.
func (b *Book) PollenNamed(ctx context.Context, typed string) (*Pollen, error) {
	_, name, err := record.Find(ctx, b.from, "pollen", typed)
	if err != nil {
		return nil, err
	}
	list, err := record.AllPollen(ctx, b.from, "l.key = ?", naming.Key(name))
	if err != nil || len(list) == 0 {
		return nil, errors.Join(err, fmt.Errorf("pollen %q: %w", typed, ErrNotFound))
	}
	return &list[0], nil
}

// Pollen returns the stored pollen of a season, or of all with "", in order of name.
func (b *Book) Pollen(ctx context.Context, season string) ([]Pollen, error) {
	return record.AllPollen(ctx, b.from, "?1 = '' OR s.key = ?1", naming.Key(season))
}
