package record

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

	"hueward/selection/book/sqlite"
	"hueward/selection/genetics"
	"hueward/selection/written"
)

// Status is what has become of a plant.
type Status string

// The statuses of a plant. Growing is that of a new one.
const (
	Growing Status = "growing"
	Kept    Status = "kept"     // chosen as a parent
	Reserve Status = "reserve"  // held until the kept ones are safe
	Passed  Status = "passed"   // dropped: no parent; see [Status.Word]
	OffType Status = "off-type" // removed from a line held true
	Lost    Status = "lost"     // died, eaten, label gone
)

// Word returns the status as people read it: "dropped" for Passed, as a plant that has "passed"
// sounds approved.
func (s Status) Word() string {
	if s == Passed {
		return "dropped"
	}
	return string(s)
}

// StatusOf returns the status of that word or name, or an empty one.
func StatusOf(word string) Status {
	for _, s := range Statuses {
		if strings.EqualFold(word, string(s)) || strings.EqualFold(word, s.Word()) {
			return s
		}
	}
	return ""
}

// Statuses lists all statuses, in the order above.
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
	// FounderInbreeding is the inbreeding coefficient of a founder, 0 to 1; nil: not known, or not a founder.
	FounderInbreeding *float64
	Note              string
	AddedAt           time.Time // ignored by AddPlant: the book's clock
	Photos            int       // photos of all seasons; ignored by AddPlant
	// Generation is named by the pedigree, see [genetics.Generations], where all
	// plants are listed; else empty. Ignored by AddPlant.
	Generation string
	// CloneOf is the plant whose genes it has, as its tuber, cutting or division; empty: grown
	// of seed. Its parents and founder group are that plant's.
	CloneOf  string
	ClonedBy CloneBy
	Place    string // in the bed; empty: not said
}

// CloneBy is how a plant was multiplied without seed.
type CloneBy string

// How plants are multiplied without seed.
const (
	ByTuber    CloneBy = "tuber"
	ByCutting  CloneBy = "cutting"
	ByDivision CloneBy = "division"
)

// ClonesBy lists all ways to multiply a plant without seed.
var ClonesBy = []CloneBy{ByTuber, ByCutting, ByDivision}

// ParentWords returns the names of a plant's parents, or of its founder group; it is empty if neither is known.
func (p Plant) ParentWords() string {
	switch {
	case p.CloneOf != "":
		return string(p.ClonedBy) + " of " + p.CloneOf
	case p.SeedParent == "" && p.PollenParent == "":
		return p.FounderGroup
	case p.SeedParent == p.PollenParent:
		return p.SeedParent + " selfed"
	}
	return cmp.Or(p.SeedParent, "not known") + " × " + cmp.Or(p.PollenParent, "not known")
}

// EveryPlant is the condition for [Plants] that selects all plants.
const EveryPlant = "WHERE 1"

// Plants returns the plants that the SQL in where selects, with alias p, in natural order of id.
func Plants(ctx context.Context, q sqlite.Querier, where string, args ...any) ([]Plant, error) {
	// Tens of thousands may be listed: numbers are read several times faster than texts, so names are looked up here.
	lines, err := sqlite.Pairs[int64, string](ctx, q, "SELECT id, name FROM line")
	if err != nil {
		return nil, err
	}
	seasons, err := sqlite.Pairs[int64, string](ctx, q, "SELECT id, name FROM season")
	if err != nil {
		return nil, err
	}
	var photos map[int64]int
	found, err := InHalves(ctx, q, func(half string, middle int64) ([]*listedPlant, error) {
		if half == upperHalf {
			var err error
			if photos, err = sqlite.Pairs[int64, int](ctx, q, `SELECT plant_id, count(*) FROM photo WHERE plant_id IS NOT NULL
				GROUP BY plant_id`); err != nil {
				return nil, err
			}
		}
		return plantRows(ctx, q, where+half+" ORDER BY p.id", append(slices.Clone(args), middle), lines, seasons)
	}) // by row
	if err != nil {
		return nil, err
	}
	missing := map[int64]string{}
	parents := make([][2]int32, len(found)) // places
	for k, p := range found {
		p.Photos = photos[p.id]
		parents[k] = [2]int32{genetics.Unknown, genetics.Unknown}
		for i, to := range p.named() {
			if p.names[i] == 0 {
				continue
			}
			at, ok := slices.BinarySearchFunc(found, p.names[i], func(p *listedPlant, id int64) int { return cmp.Compare(p.id, id) })
			if !ok {
				missing[p.names[i]] = ""
				continue
			}
			if *to = found[at].ID; i < len(parents[k]) {
				parents[k][i] = int32(at)
			}
		}
	}
	if len(missing) > 0 {
		ids, err := json.Marshal(slices.Collect(maps.Keys(missing)))
		if err != nil {
			return nil, err
		}
		missing, err = sqlite.Pairs[int64, string](ctx, q, "SELECT id, name FROM plant WHERE id IN (SELECT value FROM json_each(?))", string(ids))
		if err != nil {
			return nil, err
		}
		for _, p := range found {
			for i, to := range p.named() {
				*to = cmp.Or(*to, missing[p.names[i]])
			}
		}
	}
	if where == EveryPlant {
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

const (
	manyPlants = 2000 // from this number on, reading in halves is faster
	upperHalf  = " AND p.id > ?"
)

// InHalves reads plants in two halves in parallel, as there may be tens of thousands:
// read adds half, a condition on the row, to its query, and middle to its arguments. Few plants are all read at once.
func InHalves[T any](ctx context.Context, q sqlite.Querier, read func(half string, middle int64) ([]T, error)) ([]T, error) {
	var middle int64
	if err := q.QueryRowContext(ctx, "SELECT coalesce(max(id), 0) / 2 FROM plant").Scan(&middle); err != nil {
		return nil, sqlite.Wrap(err)
	}
	if middle < manyPlants/2 { // opening another connection would take longer
		return read(upperHalf, 0)
	}
	var halves [2][]T
	var reading errgroup.Group
	for i, half := range [2]string{" AND p.id <= ?", upperHalf} {
		reading.Go(func() (err error) {
			halves[i], err = read(half, middle)
			return err
		})
	}
	err := reading.Wait()
	return slices.Concat(halves[:]...), err
}

// listedPlant is a plant as it is read.
type listedPlant struct {
	Plant
	id    int64
	key   string   // to sort by
	names [3]int64 // rows of its parents and of the plant that it is a clone of; 0: none
}

// named returns pointers to the fields for those names.
func (p *listedPlant) named() [3]*string {
	return [3]*string{&p.SeedParent, &p.PollenParent, &p.CloneOf}
}

// plantRows reads plants, without their photos and the names of their parents.
func plantRows(ctx context.Context, q sqlite.Querier, where string, args []any, lines, seasons map[int64]string) ([]*listedPlant, error) {
	rows, err := q.QueryContext(ctx, `
		SELECT p.id, p.name, p.line_id, p.season_id, p.status, coalesce(p.seed_parent_id, 0), coalesce(p.pollen_parent_id, 0),
		       nullif(p.founder_group, ''), p.founder_inbreeding, nullif(p.note, ''), p.added_at,
		       coalesce(p.clone_of_id, 0), nullif(p.cloned_by, ''), nullif(p.place, '')
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
		var group, note, by, place sql.NullString
		if err := rows.Scan(&id, &p.ID, &line, &season, &is, &p.names[0], &p.names[1],
			&group, &p.FounderInbreeding, &note, &at, &p.names[2], &by, &place); err != nil {
			return nil, sqlite.Wrap(err)
		}
		if string(is) != status {
			status = string(is)
		}
		if string(at) != added { // most were added with others
			added = string(at)
			addedAt = Time(added)
		}
		p.Line, p.Season, p.Status, p.FounderGroup, p.Note, p.AddedAt = lines[line], seasons[season], Status(status), group.String, note.String,
			addedAt
		p.ClonedBy, p.Place = CloneBy(by.String), place.String
		p.id, p.key = id, written.SortKey(p.ID)
		found = append(found, p)
	}
	if err := rows.Err(); err != nil {
		return nil, sqlite.Wrap(err)
	}
	return found, nil
}

// ErrOwnAncestor is returned if a plant would descend from itself with the given parents.
var ErrOwnAncestor = errors.New("would be its own ancestor")

// NotOwnAncestor fails with ErrOwnAncestor if the plant is the parent or one of its ancestors.
func (t *Tx) NotOwnAncestor(plant int64, name string, parent int64, parentName string) {
	var own bool
	t.Get(`WITH RECURSIVE up (id) AS (
			VALUES (?1)
			UNION SELECT p.seed_parent_id FROM plant p JOIN up ON p.id = up.id WHERE p.seed_parent_id IS NOT NULL
			UNION SELECT p.pollen_parent_id FROM plant p JOIN up ON p.id = up.id WHERE p.pollen_parent_id IS NOT NULL
			UNION SELECT p.clone_of_id FROM plant p JOIN up ON p.id = up.id WHERE p.clone_of_id IS NOT NULL)
		SELECT EXISTS (SELECT 1 FROM up WHERE id = ?2)`, parent, plant).Into(&own)
	if own {
		t.Failf("parent %q of plant %q: the plant %w", parentName, name, ErrOwnAncestor)
	}
}

// NotBefore fails if a plant is of an earlier season than a parent. which is
// "id" to check the plant against its own parents, "seed_parent_id" or "pollen_parent_id" to check its offspring.
func (t *Tx) NotBefore(plant int64, which ...string) {
	for _, column := range which {
		t.Each(fmt.Sprintf(`SELECT c.name, cs.name, p.name, ps.name FROM plant c
			JOIN plant p ON p.id IN (c.seed_parent_id, c.pollen_parent_id)
			JOIN season cs ON cs.id = c.season_id JOIN season ps ON ps.id = p.season_id WHERE c.%s = ? AND cs.id <> ps.id`, column), []any{plant},
			func(scan func(to ...any)) {
				var name, own, parent, of string
				if scan(&name, &own, &parent, &of); genetics.Before(own, of) {
					t.Failf("plant %q is of season %s, before that of its parent %q, %s; correct the season or the parent", name, own, parent, of)
				}
			})
	}
}

// OfSeed fails if the plant is a clone, which has the parents of the plant that it is a clone of.
func (t *Tx) OfSeed(row int64, name string) {
	var of sql.NullString
	if t.Get("SELECT r.name FROM plant p LEFT JOIN plant r ON r.id = p.clone_of_id WHERE p.id = ?", row).Into(&of); of.Valid {
		t.Failf("plant %q has the genes of %s; say that plant's parents instead", name, of.String)
	}
}

// restsOn lists the tables whose rows name a plant, with words for one row and for many.
var restsOn = []struct{ table, column, one, many string }{
	{"photo", "plant_id", "photo", "photos"}, {"reading", "plant_id", "reading by an instrument", "readings by an instrument"},
	{"plant", "seed_parent_id", "plant of its seed", "plants of its seed"}, {"plant", "pollen_parent_id", "plant of its pollen",
		"plants of its pollen"},
	{"cross", "seed_parent_id", "cross on it", "crosses on it"}, {"cross", "pollen_parent_id", "cross with its pollen",
		"crosses with its pollen"},
	{"head", "plant_id", "head", "heads"}, {"score", "plant_id", "score", "scores"},
	{"pollen", "plant_id", "lot of stored pollen", "lots of stored pollen"},
	{"plant", "clone_of_id", "plant of its genes", "plants of its genes"},
}

// RestingOn describes what depends on a plant, such as "2 photos, 1 cross on it"; it is empty if nothing does.
func RestingOn(ctx context.Context, q sqlite.Querier, plant int64) (string, error) {
	var parts []string
	for _, r := range restsOn {
		var n int
		if err := q.QueryRowContext(ctx, fmt.Sprintf("SELECT count(*) FROM %q WHERE %s = ?", r.table, r.column), plant).Scan(&n); err != nil {
			return "", err
		}
		switch {
		case n == 1:
			parts = append(parts, "1 "+r.one)
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, r.many))
		}
	}
	return strings.Join(parts, ", "), nil
}
