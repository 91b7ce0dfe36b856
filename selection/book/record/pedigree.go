package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"hueward/selection/book/sqlite"
	"hueward/selection/genetics"
)

// ErrOwnAncestor says that with these parents a plant would descend from itself.
var ErrOwnAncestor = errors.New("would be its own ancestor")

// NotOwnAncestor fails when the plant is among the parent and its ancestors.
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

// NotBefore fails where a plant is of a season before that of a parent: which is
// "id" for its own parents, "seed_parent_id" or "pollen_parent_id" for its offspring.
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

// OfSeed fails where the plant has the genes of another, whose parents it has.
func (t *Tx) OfSeed(row int64, name string) {
	var of sql.NullString
	if t.Get("SELECT r.name FROM plant p LEFT JOIN plant r ON r.id = p.clone_of_id WHERE p.id = ?", row).Into(&of); of.Valid {
		t.Failf("plant %q has the genes of %s; say that plant's parents instead", name, of.String)
	}
}

// restsOn are the tables whose rows name a plant, with their words.
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

// RestingOn says what rests on a plant, as "2 photos, 1 cross on it"; empty: nothing.
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
