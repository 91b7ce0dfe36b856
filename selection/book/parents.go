package book

import (
	"context"
	"database/sql"
	"fmt"

	"hueward/selection/book/record"
	"hueward/selection/genetics"
)

// Pedigree returns who the parents of every plant are, in order of entry. A
// founder's inbreeding is its own, else its group's, else 0.
func (b *Book) Pedigree(ctx context.Context) ([]genetics.Parents, error) {
	return record.Pedigree(ctx, b.from)
}

// SetParents says which two plants others come of, of all of them or none; an empty id
// stands for one that is not known. It returns ErrNotFound for a plant that is not in the
// book, and ErrOwnAncestor when a parent is the plant itself or descends from it.
func (b *Book) SetParents(ctx context.Context, seed, pollen string, plants ...string) error {
	return b.change(ctx, func(tx *sql.Tx) (string, error) {
		var names []string
		words := [2]string{"not known", "not known"}
		for _, plant := range plants {
			row, name, err := record.Find(context.Background(), tx, "plant", plant)
			if err != nil {
				return "", err
			}
			var parents [2]any
			for i, typed := range [2]string{seed, pollen} {
				if typed == "" {
					continue
				}
				parent, full, err := record.Find(context.Background(), tx, "plant", typed)
				if err != nil {
					return "", fmt.Errorf("parent of plant %q: %w", name, err)
				}
				if err := record.NotOwnAncestor(tx, row, name, parent, full); err != nil {
					return "", err
				}
				parents[i], words[i] = parent, full
			}
			if err := record.OfSeed(tx, row, name); err != nil {
				return "", err
			}
			if _, err := tx.Exec("UPDATE plant SET seed_parent_id = ?1, pollen_parent_id = ?2 WHERE id = ?3 OR clone_of_id = ?3", parents[0],
				parents[1], row); err != nil {
				return "", err
			}
			if err := record.NotBefore(tx, row, "id"); err != nil {
				return "", err
			}
			names = append(names, name)
		}
		return fmt.Sprintf("parents of %s: %s × %s", nameList(names), words[0], words[1]), nil
	})
}
