package book

import (
	"context"
	"database/sql"
	"errors"

	"hueward/selection/book/record"
	"hueward/selection/book/sqlite"
)

// Together runs f on the same open book, and keeps all of what f enters or none of it, whenever the program ends. What
// f reads has what it entered in it. An error of a step takes that step back alone, and f may go on; one that f returns
// takes back all. While f runs it must enter nothing by b itself, and take no [Book.Snapshot].
func (b *Book) Together(ctx context.Context, f func(b *Book) error) error {
	return b.write(ctx, func(t *record.Tx) {
		c := *b
		c.from, c.within = t, &transaction{tx: t.Tx}
		t.Fail(f(&c))
		t.Fail(c.within.broken)
	})
}

// transaction is that of a book in [Book.Together].
type transaction struct {
	tx     *sql.Tx
	broken error // SQLite has given all of it up; nothing more may be written
}

// step does one write of several.
func (t *transaction) step(ctx context.Context, f func(t *record.Tx)) error {
	if err := errors.Join(t.broken, ctx.Err()); err != nil {
		return err
	}
	_, err := t.tx.Exec("SAVEPOINT step")
	if err != nil {
		t.broken = err
		return sqlite.Wrap(err)
	}
	one := record.NewTx(t.tx)
	f(one)
	if err = one.Err(); err != nil {
		// A full or failing disk ends the transaction, and what is written then would be kept at once.
		if _, e := t.tx.Exec("ROLLBACK TO step"); e != nil {
			t.broken = err
			return sqlite.Wrap(err)
		}
	}
	if _, e := t.tx.Exec("RELEASE step"); e != nil {
		t.broken = errors.Join(err, e)
		return sqlite.Wrap(t.broken)
	}
	return sqlite.Wrap(err)
}
