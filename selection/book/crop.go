package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// CropValue is a value of a crop that the grower set in place of the built-in one.
type CropValue struct{ Crop, Field, Value string }

// SetLineCrop sets the crop of a line; an empty crop removes it. It returns
// ErrNotFound for an unknown line. The caller must check that there is such a crop.
func (b *Book) SetLineCrop(ctx context.Context, line, crop string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var name string
		if !t.Get("UPDATE line SET crop = ? WHERE key = ? RETURNING name", crop, naming.LineKey(line)).Found(&name) {
			t.Failf("line %q: %w", line, ErrNotFound)
		}
		return fmt.Sprintf("line %s is %s", name, crop)
	})
}

// LineCrops returns the crops by line name; lines whose crop is not known are left out.
func (b *Book) LineCrops(ctx context.Context) (map[string]string, error) {
	return sqlite.Pairs[string, string](ctx, b.from, "SELECT name, crop FROM line WHERE crop <> ''")
}

// SetCropValues stores the grower's own values of crops, all of them or none; an empty Value removes one.
func (b *Book) SetCropValues(ctx context.Context, values ...CropValue) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var what []string
		for _, v := range values {
			if v.Crop == "" || v.Field == "" {
				t.Fail(errors.New("a crop's value needs the crop and the field"))
			}
			if v.Value == "" {
				t.Do("DELETE FROM crop_value WHERE crop = ? AND field = ?", v.Crop, v.Field)
				v.Value = "as usual"
			} else {
				setCropValue(t, v.Crop, v.Field, v.Value)
			}
			what = append(what, fmt.Sprintf("%s %s: %s", v.Crop, v.Field, v.Value))
		}
		return strings.Join(what, ", ")
	})
}

func setCropValue(t *record.Tx, crop, field, value string) {
	t.Do("INSERT INTO crop_value (crop, field, value) VALUES (?, ?, ?) ON CONFLICT (crop, field) DO UPDATE SET value = excluded.value",
		crop, field, value)
}

// CropValues returns the grower's own values, in order of entry.
func (b *Book) CropValues(ctx context.Context) ([]CropValue, error) {
	return sqlite.Collect(ctx, b.from, "SELECT crop, field, value FROM crop_value ORDER BY id", nil, func(rows *sql.Rows, v *CropValue) error {
		return rows.Scan(&v.Crop, &v.Field, &v.Value)
	})
}

// AddCrop adds a crop of the grower's own with these values and, if copied is not empty, the grower's own values of
// that crop. It returns ErrDuplicate if the name is taken by another own crop; the caller must check the built-in ones.
func (b *Book) AddCrop(ctx context.Context, c OwnCrop, copied string, values ...CropValue) error {
	var err error
	if c.Title, err = naming.CleanLabel(c.Title); err != nil {
		return fmt.Errorf("crop: %w", err)
	}
	return b.Change(ctx, func(t *record.Tx) string {
		if c.Name == "" || c.Title == "" || c.Base == "" {
			t.Fail(errors.New("a crop needs a name, a title and a base"))
		}
		key := naming.Key(c.Name)
		var there bool
		if t.Get("SELECT EXISTS (SELECT 1 FROM crop WHERE key = ?)", key).Into(&there); there {
			t.Failf("crop %q: %w", c.Name, ErrDuplicate)
		}
		t.Add("crop", "name, key, title, base, added_at", c.Name, key, c.Title, c.Base, b.Stamp())
		t.Do("INSERT INTO crop_value (crop, field, value) SELECT ?, field, value FROM crop_value WHERE crop = ? ORDER BY id", c.Name, copied)
		for _, v := range values {
			setCropValue(t, c.Name, v.Field, v.Value)
		}
		return "crop " + c.Name + " added"
	})
}

// RemoveCrop removes a crop of the grower's own and its values. It fails if a line is of that crop.
func (b *Book) RemoveCrop(ctx context.Context, name string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		var line sql.NullString
		if t.Get("SELECT min(name) FROM line WHERE crop = ?", name).Into(&line); line.Valid {
			t.Failf("crop %q: line %s is of it; say another crop of the line first", name, line.String)
		}
		if t.Do("DELETE FROM crop WHERE name = ?", name) == 0 {
			t.Failf("crop %q: %w", name, ErrNotFound)
		}
		t.Do("DELETE FROM crop_value WHERE crop = ?", name)
		return "crop " + name + " taken out"
	})
}

// OwnCrop is a crop that the grower added. Its values are those of the built-in crop Base, except where the grower set
// others.
type OwnCrop struct{ Name, Title, Base string }

// OwnCrops returns the crops that the grower added, in order of entry.
func (b *Book) OwnCrops(ctx context.Context) ([]OwnCrop, error) {
	return sqlite.Collect(ctx, b.from, "SELECT name, title, base FROM crop ORDER BY id", nil, func(rows *sql.Rows, c *OwnCrop) error {
		return rows.Scan(&c.Name, &c.Title, &c.Base)
	})
}

// ErrNoSetting is returned for a setting that was never made.
var ErrNoSetting = errors.New("was not said yet")

// LastFrost returns the month and day of the usual last frost of spring, at midnight UTC of
// the year 0, or ErrNoSetting.
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

// SetLastFrost sets the day of the usual last frost: only the month and day of on are used. Nil removes it.
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
