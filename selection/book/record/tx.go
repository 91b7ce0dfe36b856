package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// Tx is a transaction that writes to the book. It keeps its first error; after that its methods do nothing and
// return zero values. So callers need not check each call, but only [Tx.Err] at the end, or before a step that
// rolling back does not undo.
type Tx struct {
	*sql.Tx
	err     error
	columns map[string][]string // columns of the tables in the history, in order
}

// NewTx returns a Tx without an error for a transaction that has begun.
func NewTx(tx *sql.Tx) *Tx { return &Tx{Tx: tx} }

// Err returns the first error, or nil.
func (t *Tx) Err() error { return t.err }

// Fail sets the transaction's error, unless err is nil or there was an error before.
func (t *Tx) Fail(err error) {
	if t.err == nil {
		t.err = err
	}
}

// Failf is [Tx.Fail] with a new error, as fmt.Errorf makes it.
func (t *Tx) Failf(format string, args ...any) { t.Fail(fmt.Errorf(format, args...)) }

// In runs f and prefixes an error in it with where, such as "plant M-07".
func (t *Tx) In(where string, f func()) {
	if t.err != nil {
		return
	}
	if f(); t.err != nil {
		t.err = fmt.Errorf("%s: %w", where, t.err)
	}
}

// Instead replaces the error.
func (t *Tx) Instead(err error) { t.err = err }

// Mend adds a remedy, and words that describe it, to the error, if there is one.
func (t *Tx) Mend(how remedy.Remedy, words string) {
	if t.err != nil {
		t.err = how.Errorf("%w%s", t.err, words)
	}
}

// Do runs a statement and returns the number of rows that it changed.
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

// Add adds a row to a table and returns its number; the names in columns are separated by commas.
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

// Row is the result of [Tx.Get] before it is read.
type Row struct {
	t    *Tx
	rows *sql.Row
}

// Get runs a query for one row.
func (t *Tx) Get(query string, args ...any) Row {
	if t.err != nil {
		return Row{t, nil}
	}
	return Row{t, t.QueryRow(query, args...)}
}

// Into reads the row into to; it is an error if there is none.
func (r Row) Into(to ...any) {
	if !r.Found(to...) {
		r.t.Fail(sql.ErrNoRows)
	}
}

// Found reads the row into to and reports whether there is one.
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

// Each calls f for each row of a query's result; f reads it by scan.
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

// Find returns the row and full name of what was typed: see [Find].
func (t *Tx) Find(table, typed string) (row int64, name string) {
	if t.err == nil {
		row, name, t.err = Find(context.Background(), t, table, typed)
	}
	return row, name
}

// Every finds everything that was typed, calls f for each, and returns the full names.
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

// All returns the first column of a query's result.
func All[T any](t *Tx, query string, args ...any) (out []T) {
	if t.err == nil {
		out, t.err = sqlite.Column[T](context.Background(), t, query, args...)
	}
	return out
}

// OrNull returns v, or nil, which SQLite stores as NULL, for the zero value.
func OrNull[T comparable](v T) any {
	var zero T
	if v == zero {
		return nil
	}
	return v
}

// One returns the first of found; if it is empty, the error is an ErrNotFound for what, formatted with name.
func One[T any](found []T, err error, what string, name any) (*T, error) {
	if err == nil && len(found) == 0 {
		err = fmt.Errorf(what+": %w", name, ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	return &found[0], nil
}

// byName returns the records in natural order of a name.
func byName[T any](list []T, err error, name func(*T) string) ([]T, error) {
	slices.SortStableFunc(list, func(x, y T) int { return selection.CompareIDs(name(&x), name(&y)) })
	return list, err
}

// NoteAdded notes for undo that a row was added to a table without triggers.
func (t *Tx) NoteAdded(table string, row int64) {
	t.Do("INSERT INTO changed_row (change_id, tbl, row, last) SELECT change_id, ?1, ?2, ?2 FROM change_now WHERE change_id IS NOT NULL",
		table, row)
}

// NothingBroken fails if rows refer to others that do not exist any more.
func (t *Tx) NothingBroken(verb, what string) {
	var broken int
	if t.Get("SELECT count(*) FROM pragma_foreign_key_check").Into(&broken); broken > 0 {
		t.Failf("cannot %s %q: something entered since depends on it; correct it instead", verb, what)
	}
}

// Restore restores the rows that a change touched, the last changed first.
func (t *Tx) Restore(change int64) {
	t.Do("PRAGMA defer_foreign_keys = 1")
	type old struct {
		table  string
		row    int64
		before sql.NullString
		last   sql.NullInt64
	}
	var all []old
	t.Each("SELECT tbl, row, before, last FROM changed_row WHERE change_id = ? ORDER BY id DESC", []any{change}, func(scan func(to ...any)) {
		var o old
		scan(&o.table, &o.row, &o.before, &o.last)
		all = append(all, o)
	})
	for _, o := range all {
		switch t.check(o.table, "id"); {
		case t.err != nil:
			return
		case o.last.Valid:
			t.Remove(o.table, o.row, o.last.Int64)
		case !o.before.Valid && o.table == "target": // its triggers, older than its second shade, would not note that
			t.Remove(o.table, o.row, o.row)
		case !o.before.Valid:
			t.Do(fmt.Sprintf("DELETE FROM %q WHERE id = ?", o.table), o.row)
		default:
			t.PutBack(o.table, o.row, o.before.String)
		}
	}
}

// Remove removes the rows from first to last of a table without triggers, such as those of photos and readings, and
// notes them for undo.
func (t *Tx) Remove(table string, first, last int64) {
	t.check(table, "id")
	var undoing int64
	t.Get("SELECT change_id FROM change_now").Into(&undoing)
	var object []string
	for _, c := range t.columns[table] {
		// A number is kept as text, with all its digits.
		object = append(object, fmt.Sprintf("'%s', CASE typeof(%q) WHEN 'real' THEN format('%%!.17g', %q) ELSE %q END", c, c, c, c))
	}
	t.Do("UPDATE change_now SET change_id = NULL")
	t.Do(fmt.Sprintf("INSERT INTO changed_row (change_id, tbl, row, before) SELECT ?, ?, id, json_object(%s) FROM %q WHERE id BETWEEN ? AND ?",
		strings.Join(object, ", "), table), undoing, table, first, last)
	t.Do(fmt.Sprintf("DELETE FROM %q WHERE id BETWEEN ? AND ?", table), first, last)
	t.Do("UPDATE change_now SET change_id = ?", undoing)
}

// PutBack restores a row's columns from before, whether the row still exists or not.
func (t *Tx) PutBack(table string, row int64, before string) {
	var v map[string]any
	d := json.NewDecoder(strings.NewReader(before))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		t.Failf("%w: the history of %s %d cannot be read (%w)", sqlite.ErrDamaged, table, row, err)
	}
	names := slices.Sorted(maps.Keys(v))
	var args []any
	for _, name := range names {
		x := v[name]
		switch n := x.(type) {
		case nil, string, bool:
		case json.Number:
			x = number(n)
		default:
			t.Failf("%w: the history's %s %d has no plain value", sqlite.ErrDamaged, table, row)
		}
		t.check(table, name)
		args = append(args, x)
	}
	quoted := `"` + strings.Join(names, `", "`) + `"`
	sets := strings.ReplaceAll(quoted, ",", " = ?,") + " = ?"
	if t.Do(fmt.Sprintf("UPDATE %q SET %s WHERE id = ?", table, sets), append(slices.Clone(args), row)...) > 0 {
		return
	}
	t.Add(table, quoted, args...)
	if table == "photo" || table == "reading" || table == "camera_model" { // which note no row by themselves
		t.NoteAdded(table, row)
	}
}

// check fails if the book has no such table or column.
func (t *Tx) check(table, column string) {
	if t.columns[table] == nil {
		if t.columns == nil {
			t.columns = map[string][]string{}
		}
		t.columns[table] = All[string](t, "SELECT name FROM pragma_table_info(?) ORDER BY name", table)
	}
	if !slices.Contains(t.columns[table], column) || strings.HasPrefix(table, "change") || strings.HasPrefix(table, "sqlite") {
		t.Failf("%w: the history names %q of %q", sqlite.ErrDamaged, column, table)
	}
}

// number returns n as SQLite stores it: an int64 or a float64.
func number(n json.Number) any {
	if i, err := n.Int64(); err == nil {
		return i
	}
	f, _ := n.Float64()
	return f
}
