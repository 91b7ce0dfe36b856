package book

import (
	"context"
	"database/sql"
	"fmt"

	"hueward/selection/book/merge"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
	"hueward/selection/genetics"
)

// Pedigree returns who the parents of every plant are, in order of entry. A
// founder's inbreeding is its own, else its group's, else 0.
func (b *Book) Pedigree(ctx context.Context) ([]genetics.Parents, error) {
	groups, err := sqlite.Pairs[string, float64](ctx, b.from, "SELECT key, inbreeding FROM founder_group WHERE inbreeding IS NOT NULL")
	if err != nil {
		return nil, err
	}
	list, err := record.InHalves(ctx, b.from, func(half string, middle int64) ([]pedigreeRow, error) {
		return sqlite.Collect(ctx, b.from, `SELECT p.id, p.name, p.seed_parent_id, p.pollen_parent_id, nullif(p.founder_group, ''),
				p.founder_inbreeding FROM plant p WHERE 1`+half+" ORDER BY p.id", []any{middle}, func(rows *sql.Rows, v *pedigreeRow) error {
			return rows.Scan(&v.id, &v.name, &v.parents[0], &v.parents[1], &v.group, &v.inbreeding)
		})
	})
	if err != nil {
		return nil, err
	}
	names := make(map[int64]string, len(list))
	for i := range list {
		names[list[i].id] = list[i].name
	}
	out := make([]genetics.Parents, len(list))
	for i := range list {
		r := &list[i]
		p := genetics.Parents{ID: r.name, Group: r.group.String, Seed: names[r.parents[0].Int64],
			Pollen: names[r.parents[1].Int64]} // ids begin at 1: none is ""
		switch {
		case r.parents[0].Valid || r.parents[1].Valid:
		case r.inbreeding.Valid:
			p.Inbreeding = r.inbreeding.Float64
		case p.Group != "":
			p.Inbreeding = groups[naming.Key(p.Group)]
		}
		out[i] = p
	}
	return out, nil
}

// pedigreeRow is a plant of the pedigree as it is read.
type pedigreeRow struct {
	id         int64
	name       string
	parents    [2]sql.NullInt64
	group      sql.NullString
	inbreeding sql.NullFloat64
}

// SetParents says which two plants others come of, of all of them or none; an empty id
// stands for one that is not known. It returns ErrNotFound for a plant that is not in the
// book, and [record.ErrOwnAncestor] when a parent is the plant itself or descends from it.
func (b *Book) SetParents(ctx context.Context, seed, pollen string, plants ...string) error {
	return b.Change(ctx, func(t *record.Tx) string {
		words := [2]string{"not known", "not known"}
		names := t.Every("plant", plants, func(row int64, name string) {
			var parents [2]any
			for i, typed := range [2]string{seed, pollen} {
				if typed == "" {
					continue
				}
				var parent int64
				t.In(fmt.Sprintf("parent of plant %q", name), func() { parent, words[i] = t.Find("plant", typed) })
				t.NotOwnAncestor(row, name, parent, words[i])
				parents[i] = parent
			}
			t.OfSeed(row, name)
			t.Do("UPDATE plant SET seed_parent_id = ?1, pollen_parent_id = ?2 WHERE id = ?3 OR clone_of_id = ?3", parents[0], parents[1], row)
			t.NotBefore(row, "id")
		})
		return fmt.Sprintf("parents of %s: %s × %s", nameList(names), words[0], words[1])
	})
}

// Merged says what [Book.MergePlants] did.
type Merged = merge.Merged

// MergePlants makes one plant of two that the book took for different ones: all that
// rests on the first goes to the second, and the first is taken out. Where both say
// something, the second's counts, but for notes, which are joined, and scores, of which
// the newer counts. Heads keep their names, which stand on tags. The error wraps
// ErrNotFound, or [record.ErrOwnAncestor] where one of the two descends from the other.
func (b *Book) MergePlants(ctx context.Context, plant, into string) (out *Merged, err error) {
	err = b.Change(ctx, func(t *record.Tx) string {
		out = merge.Plants(t, plant, into)
		return fmt.Sprintf("plant %s merged into %s", out.Plant, out.Into)
	})
	return out, err
}
