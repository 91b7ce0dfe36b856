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
	IDs          []string // ids that are not in the book are ignored
}

// AddPlant adds a plant, and its line and season if they are new. It returns
// ErrDuplicate if the id is taken, and ErrNotFound for an unknown parent.
func (b *Book) AddPlant(ctx context.Context, p Plant) error {
	return b.Change(ctx, func(t *record.Tx) string {
		p.ID = t.FreeID(p.ID)
		b.insertPlant(t, p)
		return "plant " + p.ID + " added"
	})
}

// New reports whether there is no plant with that id yet. It returns an error if the id is
// not usable, which wraps [naming.ErrMistyped] if the id looks like one made by the book
// whose check letter does not fit: then a tag was misread, and the plant is not new.
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

// where returns the filter's condition, without IDs, as SQL with its arguments.
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

// SeasonCount is a season's number of plants.
type SeasonCount struct {
	Season string
	Plants int
}

// PlantSeasons counts the chosen plants by season, in natural order; f.IDs is ignored.
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

// SetStatus sets the status of the plants; if one of them is not in the book, none is changed.
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

// NoteChangedError is returned if a plant's note was changed since the caller read it.
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

// ChangeNote replaces the note was by note. If the book's note is neither of the two any more,
// somebody else changed it: then ChangeNote changes nothing and returns a [*NoteChangedError].
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

// RenamePlant gives a plant another id. Its heads keep their names, which are on tags.
// It returns ErrNotFound, or ErrDuplicate if the new id is taken.
func (b *Book) RenamePlant(ctx context.Context, plant, to string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		row, old := t.Find("plant", plant)
		clean, err := naming.CleanID(to)
		if t.Err() == nil && (err != nil || naming.Key(clean) != naming.Key(old)) { // more than the case differs
			if clean = t.FreeID(to); errors.Is(t.Err(), ErrDuplicate) {
				t.Mend(remedy.Step(remedy.MergePlants, old, strings.TrimSpace(to)), "; if both are one plant, merge them")
			}
		}
		t.Do("UPDATE plant SET name = ?, key = ? WHERE id = ?", clean, naming.Key(clean), row)
		return fmt.Sprintf("plant %s is %s now", old, clean)
	})
}

// RestsOn describes what in the book depends on a plant, such as "2 photos, 1 cross on it". It
// is empty if nothing does, and [Book.Remove] can remove the plant.
func (b *Book) RestsOn(ctx context.Context, plant string) (string, error) {
	row, _, err := record.Find(ctx, b.from, "plant", plant)
	if err != nil {
		return "", err
	}
	words, err := record.RestingOn(ctx, b.from, row)
	return words, sqlite.Wrap(err)
}

// AddClones adds a plant's tubers, cuttings or divisions, which have the same genes, in a season: n plants with ids
// made by the book, or those with the given ids. They have the line, parents and founder group of the plant of. If it is
// a clone itself, they become clones of the plant that it is a clone of. AddClones returns their ids and the id of that
// plant, root; the error wraps ErrDuplicate for an id that is taken.
func (b *Book) AddClones(ctx context.Context, of, season string, by CloneBy, n int, ids []string) (names []string, root string, err error) {
	if !slices.Contains(ClonesBy, by) {
		return nil, "", fmt.Errorf("%q is not a way to propagate a plant", by)
	}
	if err := checkPlants(n, ids); err != nil {
		return nil, "", err
	}
	err = b.Change(ctx, func(t *record.Tx) string {
		row, _ := t.Find("plant", of)
		var genes int64
		t.Get("SELECT r.id, r.name FROM plant p JOIN plant r ON r.id = coalesce(p.clone_of_id, p.id) WHERE p.id = ?", row).Into(&genes, &root)
		seasonID := t.Season(season)
		names = t.FreeIDs(ids, season, n)
		for _, id := range names {
			t.Do(`INSERT INTO plant (name, key, line_id, season_id, seed_parent_id, pollen_parent_id, founder_group,
					founder_inbreeding, added_at, clone_of_id, cloned_by)
				SELECT ?, ?, line_id, ?, seed_parent_id, pollen_parent_id, founder_group, founder_inbreeding, ?, id, ? FROM plant WHERE id = ?`,
				id, naming.Key(id), seasonID, b.Stamp(), by, genes)
		}
		return fmt.Sprintf("%s of %s by %s: %s", plural(len(names), "plant"), root, by, nameList(names))
	})
	return names, root, err
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Genotypes returns, for each plant that is a tuber, cutting or division of another, the id of
// that other, which has the same genes.
func (b *Book) Genotypes(ctx context.Context) (map[string]string, error) {
	return sqlite.Pairs[string, string](ctx, b.from, "SELECT p.name, r.name FROM plant p JOIN plant r ON r.id = p.clone_of_id")
}

// Places returns where plants stand in the bed, by id; plants without a place are left out.
func (b *Book) Places(ctx context.Context) (map[string]string, error) {
	return sqlite.Pairs[string, string](ctx, b.from, "SELECT name, place FROM plant WHERE place <> ''")
}

// CrossOffspring returns the plants grown from seed of crosses, by the cross's name: those of
// a line and season; an empty line or season stands for all.
func (b *Book) CrossOffspring(ctx context.Context, line, season string) (map[string][]string, error) {
	list, err := sqlite.Collect(ctx, b.from, `SELECT c.name, p.name FROM plant p JOIN sowing w ON w.id = p.sowing_id
		JOIN packet k ON k.id = w.packet_id JOIN "cross" c ON c.id = k.cross_id JOIN line n ON n.id = p.line_id
		JOIN season s ON s.id = p.season_id WHERE (?1 = '' OR n.key = ?1) AND (?2 = '' OR s.key = ?2) ORDER BY p.id`,
		[]any{naming.LineKey(line), naming.Key(season)}, func(rows *sql.Rows, v *[2]string) error { return rows.Scan(&v[0], &v[1]) })
	out := map[string][]string{}
	for _, v := range list {
		out[v[0]] = append(out[v[0]], v[1])
	}
	return out, err
}
