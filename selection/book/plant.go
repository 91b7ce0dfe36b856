package book

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"hueward/selection"
	"hueward/selection/book/naming"
	"hueward/selection/book/sqlite"
	"hueward/selection/genetics"
)

// Status is what has become of a plant.
type Status string

// The statuses of a plant. Growing is that of a new one.
const (
	Growing Status = "growing"
	Kept    Status = "kept"     // chosen as a parent
	Reserve Status = "reserve"  // held until the kept ones are safe
	Passed  Status = "passed"   // not chosen
	OffType Status = "off-type" // removed from a line held true
	Lost    Status = "lost"     // died, eaten, label gone
)

// Statuses are all of them, in the order above.
var Statuses = []Status{Growing, Kept, Reserve, Passed, OffType, Lost}

// Plant is one plant of a line.
type Plant struct {
	ID           string // letters, digits, - _ . ; unique in the book whatever its case
	Line         string
	Season       string // in which it was sown
	Status       Status // empty: Growing
	SeedParent   string // id; empty: not known
	PollenParent string // id; empty: not known or open-pollinated
	FounderGroup string // of a founder: the bought variety or lot it came from
	// FounderInbreeding is the inbreeding coefficient of a founder, 0 to 1;
	// nil: not known, or not a founder.
	FounderInbreeding *float64
	Note              string
	AddedAt           time.Time // ignored by AddPlant: the book's clock
	Photos            int       // photos of all seasons; ignored by AddPlant
	// Generation is named by the pedigree, see [genetics.Generations], where all
	// plants are listed; else empty. Ignored by AddPlant.
	Generation string
}

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
		id, err := naming.CleanID(p.ID)
		if err != nil {
			return "", fmt.Errorf("plant: %w", err)
		}
		if _, err := plantRow(tx, id); err == nil {
			return "", fmt.Errorf("plant %q: %w", id, ErrDuplicate)
		} else if !errors.Is(err, ErrNotFound) {
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
	if f := p.FounderInbreeding; f != nil && !(*f >= 0 && *f <= 1) {
		return 0, false, fmt.Errorf("plant %q: founder inbreeding %v; want 0 to 1", p.ID, *f)
	}
	line, newLine, err := b.ensureLine(tx, p.Line)
	if err != nil {
		return 0, false, fmt.Errorf("plant %q: %w", p.ID, err)
	}
	season, err := ensureSeason(tx, p.Season)
	if err != nil {
		return 0, false, fmt.Errorf("plant %q: %w", p.ID, err)
	}
	var parents [2]any
	for i, parent := range [2]string{p.SeedParent, p.PollenParent} {
		if parent == "" {
			continue
		}
		if parents[i], err = plantRow(tx, parent); err != nil {
			return 0, false, fmt.Errorf("parent of plant %q: %w", p.ID, err)
		}
	}
	res, err := tx.Exec(`INSERT INTO plant (name, key, line_id, season_id, status, seed_parent_id, pollen_parent_id,
		founder_group, founder_inbreeding, note, added_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		p.ID, naming.Key(p.ID), line, season, p.Status, parents[0], parents[1], p.FounderGroup, p.FounderInbreeding, p.Note, b.Stamp())
	if err != nil {
		return 0, false, err
	}
	id, err = res.LastInsertId()
	return id, newLine, err
}

func statusList() string {
	var s []string
	for _, v := range Statuses {
		s = append(s, string(v))
	}
	return strings.Join(s, ", ")
}

// plantRow returns the row of the plant, whatever the case of id, or ErrNotFound.
func plantRow(tx *sql.Tx, id string) (row int64, err error) {
	clean, err := naming.CleanID(id)
	if err != nil {
		return 0, fmt.Errorf("plant: %w", err)
	}
	err = tx.QueryRow("SELECT id FROM plant WHERE key = ?", naming.Key(clean)).Scan(&row)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("plant %q: %w", id, ErrNotFound)
	}
	return row, err
}

// Plant returns one plant, whatever the case of id, or ErrNotFound.
func (b *Book) Plant(ctx context.Context, id string) (*Plant, error) {
	clean, err := naming.CleanID(id)
	if err != nil {
		return nil, fmt.Errorf("plant: %w", err)
	}
	plants, err := b.plants(ctx, "WHERE p.key = ?", naming.Key(clean))
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
	where = everyPlant
	if f.Line != "" {
		clean, err := naming.CleanLine(f.Line)
		if err != nil {
			return "", nil, err
		}
		where, args = where+" AND p.line_id = (SELECT id FROM line WHERE key = ?)", append(args, naming.Key(clean))
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
	plants, err := b.plants(ctx, where, args...)
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

func (b *Book) plants(ctx context.Context, where string, args ...any) ([]Plant, error) {
	// Tens of thousands may be listed: numbers are read several times faster than
	// texts, so names are looked up here.
	lines, err := b.names(ctx, "SELECT id, name FROM line")
	if err != nil {
		return nil, err
	}
	seasons, err := b.names(ctx, "SELECT id, name FROM season")
	if err != nil {
		return nil, err
	}
	var photos map[int64]int
	var counting errgroup.Group
	counting.Go(func() (err error) { photos, err = b.photoCounts(ctx); return })
	found, err := inHalves(ctx, b, func(half string, middle int64) ([]*listedPlant, error) {
		return b.plantRows(ctx, where+half+" ORDER BY p.id", append(slices.Clone(args), middle), lines, seasons)
	}) // by row
	if err := errors.Join(err, counting.Wait()); err != nil {
		return nil, err
	}
	missing := map[int64]string{}
	parents := make([][2]int32, len(found)) // places
	for k, p := range found {
		p.Photos = photos[p.id]
		for i, to := range [2]*string{&p.SeedParent, &p.PollenParent} {
			at, ok := slices.BinarySearchFunc(found, p.parents[i], func(p *listedPlant, id int64) int { return cmp.Compare(p.id, id) })
			parents[k][i] = genetics.Unknown
			switch {
			case p.parents[i] == 0:
			case ok:
				*to, parents[k][i] = found[at].ID, int32(at)
			default:
				missing[p.parents[i]] = ""
			}
		}
	}
	if len(missing) > 0 {
		ids, err := json.Marshal(slices.Collect(maps.Keys(missing)))
		if err != nil {
			return nil, err
		}
		if missing, err = b.names(ctx, "SELECT id, name FROM plant WHERE id IN (SELECT value FROM json_each(?))", string(ids)); err != nil {
			return nil, err
		}
		for _, p := range found {
			for i, to := range [2]*string{&p.SeedParent, &p.PollenParent} {
				if *to == "" {
					*to = missing[p.parents[i]]
				}
			}
		}
	}
	if where == everyPlant {
		list := make([]genetics.Parents, len(found))
		for i, p := range found {
			list[i] = genetics.Parents{ID: p.ID, Group: p.FounderGroup}
		}
		for i, name := range genetics.InOrder(list, parents) {
			found[i].Generation = name
		}
	}
	slices.SortFunc(found, func(x, y *listedPlant) int { return strings.Compare(x.key, y.key) })
	plants := make([]Plant, len(found))
	for i, p := range found {
		plants[i] = p.Plant
	}
	return plants, nil
}

// inHalves reads plants in two halves at once, as there may be tens of thousands:
// read adds a half's condition on the row to its query, and middle to its arguments.
func inHalves[T any](ctx context.Context, b *Book, read func(half string, middle int64) ([]T, error)) ([]T, error) {
	var middle int64
	if err := b.db.QueryRowContext(ctx, "SELECT coalesce(max(id), 0) / 2 FROM plant").Scan(&middle); err != nil {
		return nil, sqlite.Wrap(err)
	}
	var halves [2][]T
	var reading errgroup.Group
	for i, half := range [2]string{" AND p.id <= ?", " AND p.id > ?"} {
		reading.Go(func() (err error) {
			halves[i], err = read(half, middle)
			return err
		})
	}
	err := reading.Wait()
	return slices.Concat(halves[:]...), err
}

// everyPlant chooses all plants.
const everyPlant = "WHERE 1"

// listedPlant is a plant as it is read.
type listedPlant struct {
	Plant
	id      int64
	key     string   // to sort by
	parents [2]int64 // rows; 0: not known
}

// plantRows reads plants but for their photos and the names of their parents.
func (b *Book) plantRows(ctx context.Context, where string, args []any, lines, seasons map[int64]string) ([]*listedPlant, error) {
	rows, err := b.db.QueryContext(ctx, `
		SELECT p.id, p.name, p.line_id, p.season_id, p.status, p.seed_parent_id, p.pollen_parent_id,
		       nullif(p.founder_group, ''), p.founder_inbreeding, nullif(p.note, ''), p.added_at
		FROM plant p `+where, args...)
	if err != nil {
		return nil, sqlite.Wrap(err)
	}
	defer rows.Close()
	var found []*listedPlant // a plant is large, and there may be tens of thousands to sort
	var added, status string
	var addedAt time.Time
	for rows.Next() {
		p := &listedPlant{}
		var id, line, season int64
		var at, is sql.RawBytes
		var group, note sql.NullString
		var parents [2]sql.NullInt64
		if err := rows.Scan(&id, &p.ID, &line, &season, &is, &parents[0], &parents[1],
			&group, &p.FounderInbreeding, &note, &at); err != nil {
			return nil, sqlite.Wrap(err)
		}
		if string(is) != status {
			status = string(is)
		}
		if string(at) != added { // most were added with others
			added = string(at)
			addedAt = parseTime(added)
		}
		p.Line, p.Season, p.Status, p.FounderGroup, p.Note, p.AddedAt = lines[line], seasons[season], Status(status), group.String, note.String,
			addedAt
		p.id, p.key, p.parents = id, selection.SortKey(p.ID), [2]int64{parents[0].Int64, parents[1].Int64}
		found = append(found, p)
	}
	if err := rows.Err(); err != nil {
		return nil, sqlite.Wrap(err)
	}
	return found, nil
}

// photoCounts are the numbers of photos of all plants that have any.
func (b *Book) photoCounts(ctx context.Context) (map[int64]int, error) {
	list, err := collect(ctx, b, "SELECT plant_id, count(*) FROM photo WHERE plant_id IS NOT NULL GROUP BY plant_id", nil,
		func(rows *sql.Rows, v *[2]int64) error { return rows.Scan(&v[0], &v[1]) })
	out := make(map[int64]int, len(list))
	for _, v := range list {
		out[v[0]] = int(v[1])
	}
	return out, err
}

// names reads rows of an id and a name.
func (b *Book) names(ctx context.Context, query string, args ...any) (map[int64]string, error) {
	type named struct {
		id   int64
		name string
	}
	list, err := collect(ctx, b, query, args, func(rows *sql.Rows, v *named) error { return rows.Scan(&v.id, &v.name) })
	out := make(map[int64]string, len(list))
	for _, v := range list {
		out[v.id] = v.name
	}
	return out, err
}

// SetStatus changes the status of the plants, of all or, when one is not in
// the book, of none.
func (b *Book) SetStatus(ctx context.Context, s Status, ids ...string) error {
	if !slices.Contains(Statuses, s) {
		return fmt.Errorf("status %q is not one of %s", s, statusList())
	}
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		for _, id := range ids {
			row, err := plantRow(tx, id)
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

// SetNote replaces the note of a plant.
func (b *Book) SetNote(ctx context.Context, id, note string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, err := plantRow(tx, id)
		if err != nil {
			return "", err
		}
		_, err = tx.Exec("UPDATE plant SET note = ? WHERE id = ?", note, row)
		return "note on " + id, err
	})
}

// ParentWords names a plant's parents, or its founder group; empty when neither
// is known.
func (p Plant) ParentWords() string {
	switch {
	case p.SeedParent == "" && p.PollenParent == "":
		return p.FounderGroup
	case p.SeedParent == p.PollenParent:
		return p.SeedParent + " selfed"
	case p.PollenParent == "":
		return p.SeedParent + " × not known"
	case p.SeedParent == "":
		return "not known × " + p.PollenParent
	}
	return p.SeedParent + " × " + p.PollenParent
}
