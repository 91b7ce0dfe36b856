package book

import (
	"context"
	"database/sql"
	"hueward/selection/book/record"
)

// For tests: the database by the book's own connections, and a bare transaction.
func (b *Book) DB() *sql.DB { return b.db }

func (b *Book) Write(ctx context.Context, f func(tx *sql.Tx) error) error {
	return b.write(ctx, func(t *record.Tx) { t.Fail(f(t.Tx)) })
}
