package book

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// PlantFilter chooses plants; an empty field chooses all.
type PlantFilter struct {
	Line, Season string
	Status       Status
	IDs          []string // those of them that are in the book
}

// AddPlant adds a plant, and its line and season when new. It returns
// ErrDuplicate when the id is taken and ErrNotFound for an unknown parent.
func (b *Book) AddPlant(ctx context.Context, p Plant) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		id, err := record.FreeID(tx, p.ID)
		if err != nil {
			return "", err
		}
		p.ID = id
		_, _, err = b.insertPlant(tx, p)
		return "plant " + id + " added", err
	})
}

// insertPlant adds a plant whose id is clean and free.
func (b *Book) insertPlant(tx *sql.Tx, p Plant) (id int64, newLine bool, err error) {
	if p.Status == "" {
		p.Status = Growing
	}
	if !slices.Contains(Statuses, p.Status) {
		return 0, false, fmt.Errorf("plant %q: status %q is not one of %s", p.ID, p.Status, statusList())
	}
	if err := cleanLabels(&p.Place); err != nil {
		return 0, false, fmt.Errorf("plant %q: %w", p.ID, err)
	}
	if f := p.FounderInbreeding; f != nil && !(*f >= 0 && *f <= 1) {
		return 0, false, fmt.Errorf("plant %q: founder inbreeding %v; want 0 to 1", p.ID, *f)
	}
	line, newLine, err := b.ensureLine(tx, p.Line)
	if err != nil {
		return 0, false, fmt.Errorf("plant %q: %w", p.ID, err)
	}
	season, err := record.EnsureSeason(tx, p.Season)
	if err != nil {
		return 0, false, fmt.Errorf("plant %q: %w", p.ID, err)
	}
	var parents [2]any
	for i, parent := range [2]string{p.SeedParent, p.PollenParent} {
		if parent == "" {
			continue
		}
		if parents[i], err = record.PlantRow(tx, parent); err != nil {
			return 0, false, fmt.Errorf("parent of plant %q: %w", p.ID, err)
		}
	}
	res, err := tx.Exec(`INSERT INTO plant (name, key, line_id, season_id, status, seed_parent_id, pollen_parent_id,
		founder_group, founder_inbreeding, note, added_at, place) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		p.ID, naming.Key(p.ID), line, season, p.Status, parents[0], parents[1], p.FounderGroup, p.FounderInbreeding, p.Note, b.Stamp(),
		p.Place)
	if err != nil {
		return 0, false, err
	}
	if id, err = res.LastInsertId(); err == nil && parents != [2]any{} {
		err = record.NotBefore(tx, id, "id")
	}
	return id, newLine, err
}

func statusList() string {
	var s []string
	for _, v := range Statuses {
		s = append(s, string(v))
	}
	return strings.Join(s, ", ")
}

// Plant returns one plant, whatever the case of id, or ErrNotFound.
func (b *Book) Plant(ctx context.Context, id string) (*Plant, error) {
	clean, err := naming.CleanID(id)
	if err != nil {
		return nil, fmt.Errorf("plant: %w", err)
	}
	plants, err := record.Plants(ctx, b.from, "WHERE p.key = ?", naming.Key(clean))
	if err != nil {
		return nil, err
	}
	if len(plants) == 0 {
		return nil, fmt.Errorf("plant %q: %w", id, ErrNotFound)
	}
	return &plants[0], nil
}

// where is the filter's condition but for IDs.
func (f PlantFilter) where() (where string, args []any, err error) {
	where = record.EveryPlant
	if f.Line != "" {
		where, args = where+" AND p.line_id = (SELECT id FROM line WHERE key = ?)", append(args, naming.LineKey(f.Line))
	}
	if f.Season != "" {
		clean, err := naming.CleanID(f.Season)
		if err != nil {
			return "", nil, fmt.Errorf("season: %w", err)
		}
		where, args = where+" AND p.season_id = (SELECT id FROM season WHERE key = ?)", append(args, naming.Key(clean))
	}
	if f.Status != "" {
		where, args = where+" AND p.status = ?", append(args, f.Status)
	}
	return where, args, nil
}

// SeasonCount is how many plants a season has.
type SeasonCount struct {
	Season string
	Plants int
}

// PlantSeasons counts the chosen plants, but for IDs, by season, in natural order.
func (b *Book) PlantSeasons(ctx context.Context, f PlantFilter) ([]SeasonCount, error) {
	where, args, err := f.where()
	if err != nil {
		return nil, err
	}
	out, err := collect(ctx, b, "SELECT s.name, count(*) FROM plant p JOIN season s ON s.id = p.season_id "+where+" GROUP BY s.id",
		args, func(rows *sql.Rows, v *SeasonCount) error { return rows.Scan(&v.Season, &v.Plants) })
	slices.SortFunc(out, func(x, y SeasonCount) int { return selection.CompareIDs(x.Season, y.Season) })
	return out, err
}

// Plants returns the chosen plants in natural order of id.
func (b *Book) Plants(ctx context.Context, f PlantFilter) ([]Plant, error) {
	where, args, err := f.where()
	if err != nil {
		return nil, err
	}
	plants, err := record.Plants(ctx, b.from, where, args...)
	if err != nil || len(f.IDs) == 0 {
		return plants, err
	}
	want := map[string]bool{}
	for _, id := range f.IDs {
		clean, err := naming.CleanID(id)
		if err != nil {
			return nil, fmt.Errorf("plant: %w", err)
		}
		want[naming.Key(clean)] = true
	}
	return slices.DeleteFunc(plants, func(p Plant) bool { return !want[naming.Key(p.ID)] }), nil
}

// SetStatus changes the status of the plants, of all or, when one is not in
// the book, of none.
func (b *Book) SetStatus(ctx context.Context, s Status, ids ...string) error {
	if !slices.Contains(Statuses, s) {
		return fmt.Errorf("status %q is not one of %s", s, statusList())
	}
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		for _, id := range ids {
			row, err := record.PlantRow(tx, id)
			if err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE plant SET status = ? WHERE id = ?", s, row); err != nil {
				return "", err
			}
		}
		return fmt.Sprintf("%s: %s", strings.Join(ids, ", "), s), nil
	})
}
