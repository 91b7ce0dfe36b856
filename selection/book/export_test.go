package book

import (
	"context"
	"database/sql"
)

// For tests: the database by the book's own connections, and a bare transaction.
func (b *Book) DB() *sql.DB { return b.db }

func (b *Book) Write(ctx context.Context, f func(tx *sql.Tx) error) error { return b.write(ctx, f) }
