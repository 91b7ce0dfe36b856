package book

import (
	"context"
	"database/sql"
	"fmt"

	"hueward/selection/book/merge"
)

// Merged says what [Book.MergePlants] did.
type Merged = merge.Merged

// MergePlants makes one plant of two that the book took for different ones: all that
// rests on the first goes to the second, and the first is taken out. Where both say
// something, the second's counts, but for notes, which are joined, and scores, of which
// the newer counts. Heads keep their names, which stand on tags. The error wraps
// ErrNotFound, or ErrOwnAncestor where one of the two descends from the other.
func (b *Book) MergePlants(ctx context.Context, plant, into string) (out *Merged, err error) {
	err = b.change(ctx, func(tx *sql.Tx) (what string, err error) {
		if out, err = merge.Plants(tx, plant, into); err != nil {
			return "", err
		}
		return fmt.Sprintf("plant %s merged into %s", out.Plant, out.Into), nil
	})
	return out, err
}
