package record

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hueward/selection/book/sqlite"
)

// NoteAdded notes rows of tables that note none of themselves as added.
func NoteAdded(tx *sql.Tx, table string, row int64) error {
	_, err := tx.Exec("INSERT INTO changed_row (change_id, tbl, row, last) SELECT change_id, ?1, ?2, ?2 FROM change_now WHERE change_id "+
		"IS NOT NULL", table, row)
	return err
}

// NothingBroken fails where rows name others that are not there any more.
func NothingBroken(tx *sql.Tx, verb, what string) error {
	var broken int
	if err := tx.QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken); err != nil {
		return err
	}
	if broken > 0 {
		return fmt.Errorf("cannot %s %q: something entered since depends on it; correct it instead", verb, what)
	}
	return nil
}

// Restore puts the rows of a change back as they were, the last changed first.
func Restore(tx *sql.Tx, change int64) error {
	if _, err := tx.Exec("PRAGMA defer_foreign_keys = 1"); err != nil {
		return err
	}
	type old struct {
		table  string
		row    int64
		before sql.NullString
		last   sql.NullInt64
	}
	rows, err := tx.Query("SELECT tbl, row, before, last FROM changed_row WHERE change_id = ? ORDER BY id DESC", change)
	if err != nil {
		return err
	}
	defer rows.Close()
	var all []old
	for rows.Next() {
		var o old
		if err := rows.Scan(&o.table, &o.row, &o.before, &o.last); err != nil {
			return err
		}
		all = append(all, o)
	}
	if err := rows.Err(); err != nil {
		return err
	}
	columns := Columns{}
	for _, o := range all {
		if err := columns.Check(tx, o.table, "id"); err != nil {
			return err
		}
		if o.last.Valid {
			if err := RemoveRun(tx, columns, o.table, o.row, o.last.Int64); err != nil {
				return err
			}
			continue
		}
		if !o.before.Valid {
			if _, err := tx.Exec(fmt.Sprintf("DELETE FROM %q WHERE id = ?", o.table), o.row); err != nil {
				return err
			}
			continue
		}
		if err := PutBack(tx, columns, o.table, o.row, o.before.String); err != nil {
			return err
		}
	}
	return nil
}

// RemoveRun removes the rows that were added, and notes what they were, as the tables of
// photos and readings do not by themselves.
func RemoveRun(tx *sql.Tx, columns Columns, table string, first, last int64) error {
	var undoing int64
	if err := tx.QueryRow("SELECT change_id FROM change_now").Scan(&undoing); err != nil {
		return err
	}
	var object []string
	for _, c := range slices.Sorted(maps.Keys(columns[table])) {
		// As text a number keeps all of its digits.
		object = append(object, fmt.Sprintf("'%s', CASE typeof(%q) WHEN 'real' THEN format('%%!.17g', %q) ELSE %q END", c, c, c, c))
	}
	for _, q := range []struct {
		text string
		args []any
	}{
		{"UPDATE change_now SET change_id = NULL", nil},
		{fmt.Sprintf("INSERT INTO changed_row (change_id, tbl, row, before) SELECT ?, ?, id, json_object(%s) FROM %q WHERE id BETWEEN ? AND ?",
			strings.Join(object, ", "), table), []any{undoing, table, first, last}},
		{fmt.Sprintf("DELETE FROM %q WHERE id BETWEEN ? AND ?", table), []any{first, last}},
		{"UPDATE change_now SET change_id = ?", []any{undoing}},
	} {
		if _, err := tx.Exec(q.text, q.args...); err != nil {
			return err
		}
	}
	return nil
}

// PutBack writes a row's columns as they were, whether it is still there or not.
func PutBack(tx *sql.Tx, columns Columns, table string, row int64, before string) error {
	var v map[string]any
	d := json.NewDecoder(strings.NewReader(before))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		return fmt.Errorf("%w: the history of %s %d cannot be read (%w)", sqlite.ErrDamaged, table, row, err)
	}
	var names, marks, sets []string
	var args []any
	for _, name := range slices.Sorted(maps.Keys(v)) {
		switch v[name].(type) {
		case nil, string, bool, json.Number:
		default:
			return fmt.Errorf("%w: the history's %s %d has no plain value", sqlite.ErrDamaged, table, row)
		}
		if err := columns.Check(tx, table, name); err != nil {
			return err
		}
		names, marks = append(names, fmt.Sprintf("%q", name)), append(marks, "?")
		sets = append(sets, fmt.Sprintf("%q = ?", name))
		x := v[name]
		if n, ok := x.(json.Number); ok {
			x = number(n)
		}
		args = append(args, x)
	}
	res, err := tx.Exec(fmt.Sprintf("UPDATE %q SET %s WHERE id = ?", table, strings.Join(sets, ", ")), append(slices.Clone(args), row)...)
	if err != nil {
		return err
	}
	if n, err := res.RowsAffected(); err != nil || n > 0 {
		return err
	}
	if _, err = tx.Exec(fmt.Sprintf("INSERT INTO %q (%s) VALUES (%s)", table, strings.Join(names, ", "), strings.Join(marks, ", ")),
		args...); err != nil {
		return err
	}
	if table == "photo" || table == "reading" || table == "camera_model" { // which note no row by themselves
		return NoteAdded(tx, table, row)
	}
	return nil
}

// Columns are the columns of the tables that the history may name.
type Columns map[string]map[string]bool

// Check fails where the history names a table or column that is not the book's.
func (c Columns) Check(tx *sql.Tx, table, column string) error {
	if c[table] == nil {
		c[table] = map[string]bool{}
		rows, err := tx.Query("SELECT name FROM pragma_table_info(?)", table)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				return err
			}
			c[table][name] = true
		}
		if err := rows.Err(); err != nil {
			return err
		}
	}
	if !c[table][column] || strings.HasPrefix(table, "change") || strings.HasPrefix(table, "sqlite") {
		return fmt.Errorf("%w: the history names %q of %q", sqlite.ErrDamaged, column, table)
	}
	return nil
}

// number is n as SQLite keeps it: whole or real.
func number(n json.Number) any {
	if i, err := n.Int64(); err == nil {
		return i
	}
	f, _ := n.Float64()
	return f
}
