package book

import (
	"context"
)

// Version is a word that differs whenever something was entered, measured or taken
// back since, by whatever program.
func (b *Book) Version(ctx context.Context) (v string, err error) {
	err = b.db.QueryRowContext(ctx, `SELECT coalesce((SELECT max(id) FROM change), 0) || '.' || coalesce((SELECT max(id) FROM reading), 0)
		|| '.' || coalesce((SELECT max(id) FROM photo), 0) || '.' || coalesce((SELECT max(id) FROM plant), 0)
		|| '.' || coalesce((SELECT max(id) FROM target), 0) || '.' || coalesce((SELECT max(id) FROM camera_model), 0)`).Scan(&v)
	return v, wrap(err)
}
