package book

import (
	"context"

	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// New reports whether a plant of that id would be a new one. It is an error where the id
// is not usable, and a [naming.ErrMistyped] where it looks like one of the book's own
// making whose last letter does not fit: that is a tag misread, and no new plant.
func (b *Book) New(ctx context.Context, id string) (bool, error) {
	_, isNew, err := record.NewPlant(ctx, b.from, id)
	return isNew, sqlite.Wrap(err)
}
