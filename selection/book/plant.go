package book

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
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
	return b.Change(ctx, func(t *record.Tx) string {
		p.ID = t.FreeID(p.ID)
		b.insertPlant(t, p)
		return "plant " + p.ID + " added"
	})
}

// New reports whether a plant of that id would be a new one. It is an error where the id
// is not usable, and a [naming.ErrMistyped] where it looks like one of the book's own
// making whose last letter does not fit: that is a tag misread, and no new plant.
func (b *Book) New(ctx context.Context, id string) (bool, error) {
	_, isNew, err := record.NewPlant(ctx, b.from, id)
	return isNew, sqlite.Wrap(err)
}

// insertPlant adds a plant whose id is clean and free.
func (b *Book) insertPlant(t *record.Tx, p Plant) (id int64, newLine bool) {
	var line, season int64
	t.In(fmt.Sprintf("plant %q", p.ID), func() {
		if p.Status = cmp.Or(p.Status, Growing); !slices.Contains(Statuses, p.Status) {
			t.Failf("status %q is not one of %s", p.Status, statusList())
		}
		t.Fail(cleanLabels(&p.Place))
		if f := p.FounderInbreeding; f != nil && !(*f >= 0 && *f <= 1) {
			t.Failf("founder inbreeding %v; want 0 to 1", *f)
		}
		line, newLine = b.ensureLine(t, p.Line)
		season = t.Season(p.Season)
	})
	var parents [2]any
	t.In(fmt.Sprintf("parent of plant %q", p.ID), func() {
		for i, parent := range [2]string{p.SeedParent, p.PollenParent} {
			if parent != "" {
				parents[i] = t.Plant(parent)
			}
		}
	})
	id = t.Add("plant", `name, key, line_id, season_id, status, seed_parent_id, pollen_parent_id, founder_group, founder_inbreeding, note,
		added_at, place`, p.ID, naming.Key(p.ID), line, season, p.Status, parents[0], parents[1], p.FounderGroup, p.FounderInbreeding, p.Note,
		b.Stamp(), p.Place)
	t.NotBefore(id, "id")
	return id, newLine
}

func statusList() string {
	return strings.Trim(strings.Join(strings.Fields(fmt.Sprint(Statuses)), ", "), "[]")
}

// Plant returns one plant, whatever the case of id, or ErrNotFound.
func (b *Book) Plant(ctx context.Context, id string) (*Plant, error) {
	clean, err := naming.CleanID(id)
	if err != nil {
		return nil, fmt.Errorf("plant: %w", err)
	}
	plants, err := record.Plants(ctx, b.from, "WHERE p.key = ?", naming.Key(clean))
	return record.One(plants, err, "plant %q", id)
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
	out, err := sqlite.Collect(ctx, b.from, "SELECT s.name, count(*) FROM plant p JOIN season s ON s.id = p.season_id "+where+" GROUP BY s.id",
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
	return b.Change(ctx, func(t *record.Tx) string {
		for _, id := range ids {
			t.Do("UPDATE plant SET status = ? WHERE id = ?", s, t.Plant(id))
		}
		return fmt.Sprintf("%s: %s", strings.Join(ids, ", "), s)
	})
}

// NoteChangedError says that a plant's note is not any more what whoever changed it had seen.
type NoteChangedError struct {
	Plant string
	Now   string // the note as it is
}

func (e *NoteChangedError) Error() string {
	return fmt.Sprintf("the note on %s was changed meanwhile, and now says %q", e.Plant, e.Now)
}

// SetNote replaces the note of a plant.
func (b *Book) SetNote(ctx context.Context, id, note string) error {
	return b.setNote(ctx, id, nil, note)
}

// ChangeNote is SetNote for whoever saw the note as it was: where it says neither that
// any more nor what it is to say, it is a *NoteChangedError, and nothing is changed.
func (b *Book) ChangeNote(ctx context.Context, id, was, note string) error {
	return b.setNote(ctx, id, &was, note)
}

func (b *Book) setNote(ctx context.Context, id string, was *string, note string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		row := t.Plant(id)
		if was != nil {
			var now string
			if t.Get("SELECT note FROM plant WHERE id = ?", row).Into(&now); now != *was && now != note {
				t.Fail(&NoteChangedError{Plant: id, Now: now})
			}
		}
		t.Do("UPDATE plant SET note = ? WHERE id = ?", note, row)
		return "note on " + id
	})
}

// RenamePlant gives a plant another id. Its heads keep their names, which stand on tags.
// It returns ErrNotFound, or ErrDuplicate when the new id is taken.
func (b *Book) RenamePlant(ctx context.Context, plant, to string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		row, old := t.Find("plant", plant)
		clean, err := naming.CleanID(to)
		if t.Err() == nil && (err != nil || naming.Key(clean) != naming.Key(old)) { // not only another case
			if clean = t.FreeID(to); errors.Is(t.Err(), ErrDuplicate) {
				t.Mend(remedy.Step(remedy.MergePlants, old, strings.TrimSpace(to)), "; if both are one plant, merge them")
			}
		}
		t.Do("UPDATE plant SET name = ?, key = ? WHERE id = ?", clean, naming.Key(clean), row)
		return fmt.Sprintf("plant %s is %s now", old, clean)
	})
}

// RestsOn says what in the book rests on a plant, as "2 photos, 1 cross on it"; empty:
// nothing, and [Book.Remove] takes it out.
func (b *Book) RestsOn(ctx context.Context, plant string) (string, error) {
	row, _, err := record.Find(ctx, b.from, "plant", plant)
	if err != nil {
		return "", err
	}
	words, err := record.RestingOn(ctx, b.from, row)
	return words, sqlite.Wrap(err)
}
