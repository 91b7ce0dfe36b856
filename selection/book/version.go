package book

import (
	"context"
	"strconv"
	"strings"

	"hueward/selection/book/sqlite"
)

// Version is a word that differs whenever something was entered, measured or taken
// back since, by whatever program.
func (b *Book) Version(ctx context.Context) (v string, err error) {
	err = b.from.QueryRowContext(ctx, `SELECT coalesce((SELECT id || '-' || sum FROM change ORDER BY id DESC LIMIT 1),
		'0-') || '.' || coalesce((SELECT max(id) FROM reading), 0)
		|| '.' || coalesce((SELECT max(id) FROM photo), 0) || '.' || coalesce((SELECT max(id) FROM plant), 0)
		|| '.' || coalesce((SELECT max(id) FROM target), 0) || '.' || coalesce((SELECT max(id) FROM camera_model), 0)`).Scan(&v)
	return v, sqlite.Wrap(err)
}

// OneChange reports whether exactly one change was entered from one version to the
// other, and nothing else happened to the book.
func OneChange(before, after string) bool {
	a, restA, okA := strings.Cut(before, ".")
	b, restB, okB := strings.Cut(after, ".")
	a, _, _ = strings.Cut(a, "-")
	b, _, _ = strings.Cut(b, "-")
	m, err1 := strconv.ParseInt(a, 10, 64)
	n, err2 := strconv.ParseInt(b, 10, 64)
	return okA && okB && err1 == nil && err2 == nil && n == m+1 && restA == restB
}
