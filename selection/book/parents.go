package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/genetics"
)

// ErrOwnAncestor says that with these parents a plant would descend from itself.
var ErrOwnAncestor = errors.New("would be its own ancestor")

// Pedigree returns who the parents of every plant are, in order of entry. A
// founder's inbreeding is its own, else its group's, else 0.
func (b *Book) Pedigree(ctx context.Context) ([]genetics.Parents, error) {
	groups, err := b.groupInbreeding(ctx)
	if err != nil {
		return nil, err
	}
	list, err := record.InHalves(ctx, b.from, func(half string, middle int64) ([]pedigreeRow, error) {
		return collect(ctx, b, `SELECT p.id, p.name, p.seed_parent_id, p.pollen_parent_id, nullif(p.founder_group, ''), p.founder_inbreeding
			FROM plant p WHERE 1`+half+" ORDER BY p.id", []any{middle}, func(rows *sql.Rows, v *pedigreeRow) error {
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

// groupInbreeding is the inbreeding of the founder groups that have one, by key.
func (b *Book) groupInbreeding(ctx context.Context) (map[string]float64, error) {
	type group struct {
		key   string
		value float64
	}
	list, err := collect(ctx, b, "SELECT key, inbreeding FROM founder_group WHERE inbreeding IS NOT NULL", nil,
		func(rows *sql.Rows, v *group) error { return rows.Scan(&v.key, &v.value) })
	out := make(map[string]float64, len(list))
	for _, g := range list {
		out[g.key] = g.value
	}
	return out, err
}

// SetParents says which two plants others come of, of all of them or none; an empty id
// stands for one that is not known. It returns ErrNotFound for a plant that is not in the
// book, and ErrOwnAncestor when a parent is the plant itself or descends from it.
func (b *Book) SetParents(ctx context.Context, seed, pollen string, plants ...string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var names []string
		words := [2]string{"not known", "not known"}
		for _, plant := range plants {
			row, name, err := find(context.Background(), tx, "plant", plant)
			if err != nil {
				return "", err
			}
			var parents [2]any
			for i, typed := range [2]string{seed, pollen} {
				if typed == "" {
					continue
				}
				parent, full, err := find(context.Background(), tx, "plant", typed)
				if err != nil {
					return "", fmt.Errorf("parent of plant %q: %w", name, err)
				}
				if err := notOwnAncestor(tx, row, name, parent, full); err != nil {
					return "", err
				}
				parents[i], words[i] = parent, full
			}
			if err := ofSeed(tx, row, name); err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE plant SET seed_parent_id = ?1, pollen_parent_id = ?2 WHERE id = ?3 OR clone_of_id = ?3", parents[0],
				parents[1], row); err != nil {
				return "", err
			}
			names = append(names, name)
		}
		return fmt.Sprintf("parents of %s: %s × %s", nameList(names), words[0], words[1]), nil
	})
}

// notOwnAncestor fails when the plant is among the parent and its ancestors.
func notOwnAncestor(tx *sql.Tx, plant int64, name string, parent int64, parentName string) error {
	var own bool
	err := tx.QueryRow(`WITH RECURSIVE up (id) AS (
			VALUES (?1)
			UNION SELECT p.seed_parent_id FROM plant p JOIN up ON p.id = up.id WHERE p.seed_parent_id IS NOT NULL
			UNION SELECT p.pollen_parent_id FROM plant p JOIN up ON p.id = up.id WHERE p.pollen_parent_id IS NOT NULL
			UNION SELECT p.clone_of_id FROM plant p JOIN up ON p.id = up.id WHERE p.clone_of_id IS NOT NULL)
		SELECT EXISTS (SELECT 1 FROM up WHERE id = ?2)`, parent, plant).Scan(&own)
	if err != nil {
		return err
	}
	if own {
		return fmt.Errorf("parent %q of plant %q: the plant %w", parentName, name, ErrOwnAncestor)
	}
	return nil
}
