package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// CropValue is what the grower knows better than the built-in values of a crop.
type CropValue struct{ Crop, Field, Value string }

// SetLineCrop says which crop a line is; an empty one takes it away. It returns
// ErrNotFound for an unknown line. Which crops there are is for the caller to know.
func (b *Book) SetLineCrop(ctx context.Context, line, crop string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var name string
		err := tx.QueryRow("UPDATE line SET crop = ? WHERE key = ? RETURNING name", crop, naming.LineKey(line)).Scan(&name)
		if errors.Is(err, sql.ErrNoRows) {
			return "", fmt.Errorf("line %q: %w", line, ErrNotFound)
		}
		return fmt.Sprintf("line %s is %s", name, crop), err
	})
}

// LineCrops are the crops of the lines of which it was said, by the line's name.
func (b *Book) LineCrops(ctx context.Context) (map[string]string, error) {
	list, err := collect(ctx, b, "SELECT name, crop FROM line WHERE crop <> ''", nil, func(rows *sql.Rows,
		v *[2]string) error {
		return rows.Scan(&v[0], &v[1])
	})
	out := map[string]string{}
	for _, v := range list {
		out[v[0]] = v[1]
	}
	return out, err
}

// SetCropValues keeps values of a crop, all of them or none; an empty value takes
// the grower's own away.
func (b *Book) SetCropValues(ctx context.Context, values ...CropValue) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var what []string
		for _, v := range values {
			if v.Crop == "" || v.Field == "" {
				return "", errors.New("a crop's value needs the crop and the field")
			}
			var err error
			if v.Value == "" {
				_, err = tx.Exec("DELETE FROM crop_value WHERE crop = ? AND field = ?", v.Crop, v.Field)
				v.Value = "as usual"
			} else {
				_, err = tx.Exec("INSERT INTO crop_value (crop, field, value) VALUES (?, ?, ?) ON CONFLICT (crop, field) DO UPDATE SET value = "+
					"excluded.value", v.Crop, v.Field, v.Value)
			}
			if err != nil {
				return "", err
			}
			what = append(what, fmt.Sprintf("%s %s: %s", v.Crop, v.Field, v.Value))
		}
		return strings.Join(what, ", "), nil
	})
}

// CropValues are the grower's own values, in order of entry.
func (b *Book) CropValues(ctx context.Context) ([]CropValue, error) {
	return collect(ctx, b, "SELECT crop, field, value FROM crop_value ORDER BY id", nil, func(rows *sql.Rows, v *CropValue) error {
		return rows.Scan(&v.Crop, &v.Field, &v.Value)
	})
}

// AddCrop adds a crop of the grower's own, with the own values of another where copied
// names one, and these. ErrDuplicate where there is one of that name. Which are built in is
// for the caller to know.
func (b *Book) AddCrop(ctx context.Context, c OwnCrop, copied string, values ...CropValue) error {
	var err error
	if c.Title, err = naming.CleanLabel(c.Title); err != nil {
		return fmt.Errorf("crop: %w", err)
	}
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		if c.Name == "" || c.Title == "" || c.Base == "" {
			return "", errors.New("a crop needs a name, a title and a base")
		}
		var there bool
		if err := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM crop WHERE key = ?)", naming.Key(c.Name)).Scan(&there); err != nil {
			return "", err
		}
		if there {
			return "", fmt.Errorf("crop %q: %w", c.Name, ErrDuplicate)
		}
		if _, err := tx.Exec("INSERT INTO crop (name, key, title, base, added_at) VALUES (?, ?, ?, ?, ?)", c.Name, naming.Key(c.Name), c.Title,
			c.Base, b.Stamp()); err != nil {
			return "", err
		}
		if _, err := tx.Exec("INSERT INTO crop_value (crop, field, value) SELECT ?, field, value FROM crop_value WHERE crop = ? ORDER BY id",
			c.Name, copied); err != nil {
			return "", err
		}
		for _, v := range values {
			if _, err := tx.Exec("INSERT INTO crop_value (crop, field, value) VALUES (?1, ?2, ?3) ON CONFLICT (crop, field) DO UPDATE SET "+
				"value = excluded.value", c.Name, v.Field, v.Value); err != nil {
				return "", err
			}
		}
		return "crop " + c.Name + " added", nil
	})
}

// RemoveCrop takes a crop of the grower's own out, with its values; it is refused where a
// line is of it.
func (b *Book) RemoveCrop(ctx context.Context, name string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var line sql.NullString
		if err := tx.QueryRow("SELECT min(name) FROM line WHERE crop = ?", name).Scan(&line); err != nil {
			return "", err
		}
		if line.Valid {
			return "", fmt.Errorf("crop %q: line %s is of it; say another crop of the line first", name, line.String)
		}
		res, err := tx.Exec("DELETE FROM crop WHERE name = ?", name)
		if err != nil {
			return "", err
		}
		if n, err := res.RowsAffected(); err != nil || n == 0 {
			return "", errors.Join(err, fmt.Errorf("crop %q: %w", name, ErrNotFound))
		}
		_, err = tx.Exec("DELETE FROM crop_value WHERE crop = ?", name)
		return "crop " + name + " taken out", err
	})
}

// OwnCrops are the crops that the grower added, in order of entry.
func (b *Book) OwnCrops(ctx context.Context) ([]OwnCrop, error) { return record.OwnCrops(ctx, b.from) }
