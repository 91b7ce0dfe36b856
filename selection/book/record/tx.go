package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// Tx is a transaction in which something is entered. It keeps its first error, and after that does nothing and
// gives zero values; so whoever enters goes straight on, and [Tx.Err] is asked at the end, or before a step that
// the transaction does not take back.
type Tx struct {
	*sql.Tx
	err     error
	columns map[string][]string // of the tables that the history names, in order
}

// NewTx is the transaction, in which nothing has failed yet.
func NewTx(tx *sql.Tx) *Tx { return &Tx{Tx: tx} }

// Err is what failed first; nil: nothing has.
func (t *Tx) Err() error { return t.err }

// Fail ends what is entered with an error, unless it is nil.
func (t *Tx) Fail(err error) {
	if t.err == nil {
		t.err = err
	}
}

// Failf is [Tx.Fail] with a new error, as fmt.Errorf makes it.
func (t *Tx) Failf(format string, args ...any) { t.Fail(fmt.Errorf(format, args...)) }

// In runs f, and says of an error in it where it is, as "plant M-07".
func (t *Tx) In(where string, f func()) {
	if t.err != nil {
		return
	}
	if f(); t.err != nil {
		t.err = fmt.Errorf("%s: %w", where, t.err)
	}
}

// Instead puts another error in the place of what failed.
func (t *Tx) Instead(err error) { t.err = err }

// Mend adds to what failed, if anything has, how that is mended, and words that say so.
func (t *Tx) Mend(how remedy.Remedy, words string) {
	if t.err != nil {
		t.err = how.Errorf("%w%s", t.err, words)
	}
}

// Do runs a statement, and returns how many rows it touched.
func (t *Tx) Do(query string, args ...any) (rows int64) {
	if t.err != nil {
		return 0
	}
	res, err := t.Exec(query, args...)
	if err == nil {
		rows, err = res.RowsAffected()
	}
	t.Fail(err)
	return rows
}

// Add adds a row to a table, and returns its number; columns are separated by commas.
func (t *Tx) Add(table, columns string, values ...any) (id int64) {
	if t.err != nil {
		return 0
	}
	marks := strings.TrimSuffix(strings.Repeat("?, ", len(values)), ", ")
	res, err := t.Exec(fmt.Sprintf("INSERT INTO %q (%s) VALUES (%s)", table, columns, marks), values...)
	if err == nil {
		id, err = res.LastInsertId()
	}
	t.Fail(err)
	return id
}

// Row is the one row that a query finds, until it is read.
type Row struct {
	t    *Tx
	rows *sql.Row
}

// Get asks for one row.
func (t *Tx) Get(query string, args ...any) Row {
	if t.err != nil {
		return Row{t, nil}
	}
	return Row{t, t.QueryRow(query, args...)}
}

// Into reads the row, which must be there.
func (r Row) Into(to ...any) {
	if !r.Found(to...) {
		r.t.Fail(sql.ErrNoRows)
	}
}

// Found reads the row, and reports whether there is one.
func (r Row) Found(to ...any) bool {
	if r.t.err != nil {
		return false
	}
	err := r.rows.Scan(to...)
	if errors.Is(err, sql.ErrNoRows) {
		return false
	}
	r.t.Fail(err)
	return err == nil
}

// Each gives f the rows that a query finds, which f reads by scan.
func (t *Tx) Each(query string, args []any, f func(scan func(to ...any))) {
	if t.err != nil {
		return
	}
	rows, err := t.Query(query, args...)
	if err != nil {
		t.Fail(err)
		return
	}
	defer rows.Close()
	scan := func(to ...any) { t.Fail(rows.Scan(to...)) }
	for t.err == nil && rows.Next() {
		f(scan)
	}
	t.Fail(rows.Err())
}

// Find is the row and full name of what was typed: see [Find].
func (t *Tx) Find(table, typed string) (row int64, name string) {
	if t.err == nil {
		row, name, t.err = Find(context.Background(), t, table, typed)
	}
	return row, name
}

// Every finds each of what was typed, gives it to f, and returns the full names.
func (t *Tx) Every(table string, typed []string, f func(row int64, name string)) (names []string) {
	for _, s := range typed {
		row, name := t.Find(table, s)
		if t.err != nil {
			return nil
		}
		f(row, name)
		names = append(names, name)
	}
	return names
}

// All is the first column of what a query finds.
func All[T any](t *Tx, query string, args ...any) (out []T) {
	if t.err == nil {
		out, t.err = sqlite.Column[T](context.Background(), t, query, args...)
	}
	return out
}

// OrNull is v as SQLite keeps it where the zero value is not said: NULL.
func OrNull[T comparable](v T) any {
	var zero T
	if v == zero {
		return nil
	}
	return v
}

// One is the first of what was found; with none it is an ErrNotFound of what is named.
func One[T any](found []T, err error, what string, name any) (*T, error) {
	if err == nil && len(found) == 0 {
		err = fmt.Errorf(what+": %w", name, ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	return &found[0], nil
}

// byName are records in natural order of a name.
func byName[T any](list []T, err error, name func(*T) string) ([]T, error) {
	slices.SortStableFunc(list, func(x, y T) int { return selection.CompareIDs(name(&x), name(&y)) })
	return list, err
}
