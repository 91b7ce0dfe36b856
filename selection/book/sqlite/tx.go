package sqlite

import (
	"context"
	"database/sql"
	"errors"

	driver "modernc.org/sqlite"
)

// A disk that fails or is full makes SQLite give up the whole transaction by itself;
// what is written after that would be kept at once, statement by statement. Where such
// an error was passed over, half of a change was kept. So nothing is kept but by
// [Tx.Commit].

// Tx is a transaction of which all is kept, or nothing.
type Tx struct {
	*sql.Tx
	conn *sql.Conn
	may  bool
}

// Begin begins a transaction that holds the write lock. It must be ended.
func Begin(ctx context.Context, db *sql.DB) (_ *Tx, err error) {
	t := &Tx{}
	if t.conn, err = db.Conn(ctx); err != nil {
		return nil, err
	}
	if err = t.hook(func() int32 {
		if t.may {
			return 0
		}
		return 1 // not kept
	}); err == nil {
		t.Tx, err = t.conn.BeginTx(ctx, nil)
	}
	if err != nil {
		t.End()
		return nil, err
	}
	return t, nil
}

func (t *Tx) hook(f driver.CommitHookFn) error {
	return t.conn.Raw(func(c any) error {
		h, ok := c.(driver.HookRegisterer)
		if !ok {
			return errors.New("the driver of SQLite has no hooks")
		}
		h.RegisterCommitHook(f)
		return nil
	})
}

// NothingEntered notes that the last command changed nothing, in a book of the newest
// version that nobody else is writing to.
func NothingEntered(ctx context.Context, file string) {
	db, err := connect(file, "rw", "busy_timeout(500)")
	if err != nil {
		return
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if version, err := versionOf(ctx, db); err != nil || version != Versions() {
		return
	}
	db.ExecContext(ctx, "UPDATE change_now SET last = 0 WHERE last <> 0")
}

// ErrUnsure says that a commit failed at its very end: what was entered may yet be found
// in the book when it is opened again, and no file that it names may be taken away.
var ErrUnsure = errors.New("it is not sure whether it was entered")

// Commit keeps all of it. The error may be an ErrUnsure.
func (t *Tx) Commit() error {
	t.may = true
	err := t.Tx.Commit()
	var e *driver.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &e) && e.Code() == 1: // it was given up before
		return &said{"nothing was entered: " + saidBook, nil, err}
	case errors.As(err, &e) && e.Code() == 1034: // IOERR_FSYNC: all was written, but it may not be on the disk
		return &said{saidBook, ErrUnsure, err}
	}
	return err
}

// End takes back what was not committed, and lets go of the connection.
func (t *Tx) End() {
	if t.Tx != nil {
		t.Tx.Rollback() // no-op after Commit
	}
	t.may = true
	t.hook(nil)
	t.conn.Close()
}

// Querier is a database, a connection of it, or a transaction.
type Querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Collect reads all rows with scan.
func Collect[T any](ctx context.Context, q Querier, query string, args []any, scan func(rows *sql.Rows, v *T) error) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, Wrap(err)
	}
	defer rows.Close()
	out := []T{}
	for rows.Next() {
		var v T
		if err := scan(rows, &v); err != nil {
			return nil, Wrap(err)
		}
		out = append(out, v)
	}
	return out, Wrap(rows.Err())
}

// Column is the first column of what the query finds.
func Column[T any](ctx context.Context, q Querier, query string, args ...any) ([]T, error) {
	return Collect(ctx, q, query, args, func(rows *sql.Rows, v *T) error { return rows.Scan(v) })
}

// Pairs are the two columns of what the query finds, the second by the first.
func Pairs[K comparable, V any](ctx context.Context, q Querier, query string, args ...any) (map[K]V, error) {
	type pair struct {
		k K
		v V
	}
	list, err := Collect(ctx, q, query, args, func(rows *sql.Rows, p *pair) error { return rows.Scan(&p.k, &p.v) })
	out := make(map[K]V, len(list))
	for _, p := range list {
		out[p.k] = p.v
	}
	return out, err
}
