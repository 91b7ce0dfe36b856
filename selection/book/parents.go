package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"hueward/selection/genetics"
)

// ErrOwnAncestor: with these parents a plant would descend from itself.
var ErrOwnAncestor = errors.New("would be its own ancestor")

// Pedigree returns who the parents of every plant are, in order of entry. A
// founder's inbreeding is its own, else its group's, else 0.
func (b *Book) Pedigree(ctx context.Context) ([]genetics.Parents, error) {
	rows, err := b.db.QueryContext(ctx, `SELECT p.id, p.name, p.seed_parent_id, p.pollen_parent_id, nullif(p.founder_group, ''),
			CASE WHEN p.seed_parent_id IS NULL AND p.pollen_parent_id IS NULL THEN coalesce(p.founder_inbreeding, g.inbreeding) END
		FROM plant p LEFT JOIN founder_group g ON g.key = lower(p.founder_group) ORDER BY p.id`)
	if err != nil {
		return nil, wrap(err)
	}
	defer rows.Close()
	var out []genetics.Parents
	var parents [][2]sql.NullInt64
	names := map[int64]string{}
	for rows.Next() {
		var id int64
		var p genetics.Parents
		var of [2]sql.NullInt64
		var group sql.NullString
		var inbreeding sql.NullFloat64
		if err := rows.Scan(&id, &p.ID, &of[0], &of[1], &group, &inbreeding); err != nil {
			return nil, wrap(err)
		}
		p.Group, p.Inbreeding, names[id] = group.String, inbreeding.Float64, p.ID
		out, parents = append(out, p), append(parents, of)
	}
	for i, of := range parents {
		out[i].Seed, out[i].Pollen = names[of[0].Int64], names[of[1].Int64] // ids begin at 1: none is ""
	}
	return out, wrap(rows.Err())
}

// SetParents says which plants a plant comes of; an empty id stands for one that
// is not known. It returns ErrNotFound for a plant that is not in the book, and
// ErrOwnAncestor when a parent is the plant itself or descends from it.
func (b *Book) SetParents(ctx context.Context, plant, seed, pollen string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		row, name, err := find(context.Background(), tx, "plant", plant)
		if err != nil {
			return "", err
		}
		var parents [2]any
		words := [2]string{"not known", "not known"}
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
		_, err = tx.Exec("UPDATE plant SET seed_parent_id = ?, pollen_parent_id = ? WHERE id = ?", parents[0], parents[1], row)
		return fmt.Sprintf("parents of %s: %s × %s", name, words[0], words[1]), err
	})
}

// notOwnAncestor fails when the plant is among the parent and its ancestors.
func notOwnAncestor(tx *sql.Tx, plant int64, name string, parent int64, parentName string) error {
	var own bool
	err := tx.QueryRow(`WITH RECURSIVE up (id) AS (
			VALUES (?1)
			UNION SELECT p.seed_parent_id FROM plant p JOIN up ON p.id = up.id WHERE p.seed_parent_id IS NOT NULL
			UNION SELECT p.pollen_parent_id FROM plant p JOIN up ON p.id = up.id WHERE p.pollen_parent_id IS NOT NULL)
		SELECT EXISTS (SELECT 1 FROM up WHERE id = ?2)`, parent, plant).Scan(&own)
	if err != nil {
		return err
	}
	if own {
		return fmt.Errorf("parent %q of plant %q: the plant %w", parentName, name, ErrOwnAncestor)
	}
	return nil
}
