package booktest

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/sqlite"
)

// Contents is all that the book holds, as text, with names in place of row
// numbers: two books with the same contents are the same book. It reads the
// tables and their references from the database itself. The history is left out.
func Contents(t T, b *book.Book) map[string][]string {
	t.Helper()
	db := openDB(t, b)
	defer db.Close()
	out := map[string][]string{}
	refs := map[string]string{} // by table and column: the table that it names a row of
	const names = `SELECT m.name || ' ' || f."from" || ' ' || f."table" FROM sqlite_schema m, pragma_foreign_key_list(m.name) f
		WHERE m.type = 'table'`
	for _, s := range Column(t, db, names) {
		at := strings.LastIndexByte(s, ' ')
		refs[s[:at]] = s[at+1:]
	}
	columns := ColumnsOfAll(t, db)
	for _, table := range Tables(t, db) {
		var exprs []string
		for _, c := range columns[table] {
			if c == "id" || c == "sum" { // of row numbers, too
				continue
			}
			e := "t." + c
			if to := refs[table+" "+c]; to != "" {
				name := "name"
				if to == "photo" {
					name = "sha256"
				}
				e = fmt.Sprintf("(SELECT %s FROM %q WHERE id = t.%s)", name, to, c)
			}
			exprs = append(exprs, fmt.Sprintf("'%s=' || quote(%s)", c, e))
		}
		// Where rows have no name, their order counts.
		if rows := Column(t, db, fmt.Sprintf("SELECT %s FROM %q t ORDER BY id", strings.Join(exprs, " || ' ' || "), table)); len(rows) > 0 {
			out[table] = rows
		}
	}
	return out
}

// Rows are all rows of the tables that hold what the grower enters, row numbers and
// all.
func Rows(t T, b *book.Book) map[string][]string {
	t.Helper()
	db := openDB(t, b)
	defer db.Close()
	return RowsIn(t, db)
}

// RowsIn is [Rows] of a database that is open.
func RowsIn(t T, db *sql.DB) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	columns := ColumnsOfAll(t, db)
	for _, table := range Tables(t, db) {
		quoted := strings.Join(columns[table], ") || ' ' || quote(")
		if rows := Column(t, db, fmt.Sprintf("SELECT quote(%s) FROM %q ORDER BY id", quoted, table)); len(rows) > 0 {
			out[table] = rows
		}
	}
	return out
}

// Tables are those of the book, but for its history and the requests that were taken.
func Tables(t T, db *sql.DB) []string {
	t.Helper()
	return Column(t, db, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'
		AND name NOT IN ('change', 'changed_row', 'change_now', 'request') ORDER BY name`)
}

// ColumnsOfAll are the columns of each table.
func ColumnsOfAll(t T, db *sql.DB) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, s := range Column(t, db, `SELECT m.name || ' ' || c.name FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.type = 'table'
		ORDER BY m.name, c.cid`) {
		table, column, _ := strings.Cut(s, " ")
		out[table] = append(out[table], column)
	}
	return out
}

// Column is the first column of what the query finds.
func Column(t T, db *sql.DB, query string, args ...any) []string {
	t.Helper()
	out, err := sqlite.Column[string](context.Background(), db, query, args...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Count is how many rows the table has.
func Count(t T, b *book.Book, table string) int {
	t.Helper()
	db := openDB(t, b)
	defer db.Close()
	return len(Column(t, db, fmt.Sprintf("SELECT id FROM %q", table)))
}
