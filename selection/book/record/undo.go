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

// NoteAdded notes a row of a table that notes none of itself as added.
func (t *Tx) NoteAdded(table string, row int64) {
	t.Do("INSERT INTO changed_row (change_id, tbl, row, last) SELECT change_id, ?1, ?2, ?2 FROM change_now WHERE change_id IS NOT NULL",
		table, row)
}

// NothingBroken fails where rows name others that are not there any more.
func (t *Tx) NothingBroken(verb, what string) {
	var broken int
	if t.Get("SELECT count(*) FROM pragma_foreign_key_check").Into(&broken); broken > 0 {
		t.Failf("cannot %s %q: something entered since depends on it; correct it instead", verb, what)
	}
}

// Restore puts the rows of a change back as they were, the last changed first.
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
		case !o.before.Valid:
			t.Do(fmt.Sprintf("DELETE FROM %q WHERE id = ?", o.table), o.row)
		default:
			t.PutBack(o.table, o.row, o.before.String)
		}
	}
}

// Remove removes rows of a table that notes none by itself, as those of photos and readings do not, and notes what
// they were.
func (t *Tx) Remove(table string, first, last int64) {
	t.check(table, "id")
	var undoing int64
	t.Get("SELECT change_id FROM change_now").Into(&undoing)
	var object []string
	for _, c := range t.columns[table] {
		// As text a number keeps all of its digits.
		object = append(object, fmt.Sprintf("'%s', CASE typeof(%q) WHEN 'real' THEN format('%%!.17g', %q) ELSE %q END", c, c, c, c))
	}
	t.Do("UPDATE change_now SET change_id = NULL")
	t.Do(fmt.Sprintf("INSERT INTO changed_row (change_id, tbl, row, before) SELECT ?, ?, id, json_object(%s) FROM %q WHERE id BETWEEN ? AND ?",
		strings.Join(object, ", "), table), undoing, table, first, last)
	t.Do(fmt.Sprintf("DELETE FROM %q WHERE id BETWEEN ? AND ?", table), first, last)
	t.Do("UPDATE change_now SET change_id = ?", undoing)
}

// PutBack writes a row's columns as they were, whether it is still there or not.
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

// check fails where the history names a table or column that is not the book's.
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

// number is n as SQLite keeps it: whole or real.
func number(n json.Number) any {
	if i, err := n.Int64(); err == nil {
		return i
	}
	f, _ := n.Float64()
	return f
}
