package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
)

var update = flag.Bool("update", false, "write newest.sql from the migrations")

// textOf is a database as SQL, in the order in which it was made: its objects and its rows.
func textOf(ctx context.Context, db *sql.DB) (string, error) {
	made, err := Column[string](ctx, db, `SELECT sql FROM sqlite_schema WHERE sql <> '' AND name NOT LIKE 'sqlite\_%' ESCAPE '\'
		ORDER BY rowid`)
	if err != nil {
		return "", err
	}
	tables, err := Column[string](ctx, db, "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY rowid")
	for _, table := range tables {
		columns, e := Column[string](ctx, db, "SELECT name FROM pragma_table_info(?)", table)
		if err != nil || e != nil {
			return "", errors.Join(err, e)
		}
		rows, e := Column[string](ctx, db, fmt.Sprintf("SELECT 'INSERT INTO %s VALUES (' || quote(%s) || ')' FROM %[1]q", table,
			strings.Join(columns, ") || ', ' || quote(")))
		if e != nil {
			return "", e
		}
		made = append(made, rows...)
	}
	return "-- Written by TestNewest from the migrations: change those.\n\n" + strings.Join(made, ";\n\n") + ";\n", err
}

// A new book is what the migrations make of an empty file. A difference in newest.sql
// needs a new migration, not a change of an old one: books of that version are out in gardens.
func TestNewest(t *testing.T) {
	t.Parallel()
	ctx, dir := t.Context(), t.TempDir()
	migrated := must.Have(Open(filepath.Join(dir, "migrated.db"), "rwc"))(t)
	defer migrated.Close()
	must.OK(t, Migrate(ctx, migrated))
	want := must.Have(textOf(ctx, migrated))(t)
	if *update {
		must.OK(t, os.WriteFile("newest.sql", []byte(want), 0o644))
		newest = want
	}
	if newest != want {
		t.Error("newest.sql is not what the migrations make; write it with go test ./selection/book/sqlite -run TestNewest -update")
	}
	file := filepath.Join(dir, "new.db")
	must.OK(t, Create(ctx, file))
	created := must.Have(readOnly(file))(t)
	defer created.Close()
	if got := must.Have(textOf(ctx, created))(t); got != want {
		t.Errorf("a new book is\n%s\nthe migrations make\n%s", got, want)
	}
	for _, pragma := range []string{"user_version", "application_id", "page_size"} {
		var x, y string
		must.OK(t, migrated.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&x))
		must.OK(t, created.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&y))
		if x != y {
			t.Errorf("%s of a new book is %s, of a migrated one %s", pragma, y, x)
		}
	}
	// The digest by which it is known.
	all, digest, err := schemaOf(ctx, created)
	if err != nil || digest != newestSchema {
		t.Errorf("digest %s of %d objects, %v; write it into newestSchema", digest, len(all), err)
	}
	// The slow way comes to the same.
	must.OK(t, compareSchema(ctx, created, all, Versions()))
}
