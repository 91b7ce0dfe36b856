package book

import (
	"context"
	"fmt"

	"hueward/selection/book/merge"
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
	return b.change(ctx, func(t *record.Tx) string {
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
// ErrNotFound, or ErrOwnAncestor where one of the two descends from the other.
func (b *Book) MergePlants(ctx context.Context, plant, into string) (out *Merged, err error) {
	err = b.change(ctx, func(t *record.Tx) string {
		out = merge.Plants(t, plant, into)
		return fmt.Sprintf("plant %s merged into %s", out.Plant, out.Into)
	})
	return out, err
}
