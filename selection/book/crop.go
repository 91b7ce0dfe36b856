package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"hueward/selection/book/naming"
)

// CropValue is what the grower knows better than the built-in values of a crop.
type CropValue struct{ Crop, Field, Value string }

// SetLineCrop says which crop a line is; an empty one takes it away. It returns
// ErrNotFound for an unknown line. Which crops there are is for the caller to know.
func (b *Book) SetLineCrop(ctx context.Context, line, crop string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var name string
		err := tx.QueryRow("UPDATE line SET crop = ? WHERE key = ? RETURNING name", crop, naming.Key(strings.TrimSpace(line))).Scan(&name)
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
