package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A book may come from anyone: what it says of itself is not believed before its
// tables are those of a book of its version, and no trigger or view is another's.

// newestSchema is the digest of the schema that the newest version has, by which it is
// known at once; TestNewestSchema says it.
const newestSchema = "c4165af4c0cc6e8e59523e00a29146bb33804dfa29c02a9feb381f339dce70c1"

// querier is a database or a connection of it.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// object is a table, index, trigger or view of a database.
type object struct{ kind, name, text string }

// schemaOf reads a database's objects, but for SQLite's own.
func schemaOf(ctx context.Context, db querier) (all []object, digest string, err error) {
	rows, err := db.QueryContext(ctx, `SELECT type, name, coalesce(sql, '') FROM sqlite_schema
		WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY type, name`)
	if err != nil {
		return nil, "", err
	}
	defer rows.Close()
	sum := sha256.New()
	for rows.Next() {
		var o object
		if err := rows.Scan(&o.kind, &o.name, &o.text); err != nil {
			return nil, "", err
		}
		fmt.Fprintf(sum, "%q %q %q\n", o.kind, o.name, o.text)
		all = append(all, o)
	}
	return all, hex.EncodeToString(sum.Sum(nil)), rows.Err()
}

// CheckSchema refuses a database that is not one of a book's of its version.
func CheckSchema(ctx context.Context, db *sql.DB) error {
	var version int
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return Wrap(err)
	}
	switch {
	case version < 1:
		return fmt.Errorf("%w: %s says that it is of version %d", ErrNotBook, FileName, version)
	case version > Versions():
		return fmt.Errorf("%w (version %d, this one knows up to %d); use a newer hueward", ErrNewer, version, Versions())
	}
	have, digest, err := schemaOf(ctx, db)
	if err != nil {
		return Wrap(err)
	}
	if version == Versions() && digest == newestSchema {
		return nil
	}
	return compareSchema(ctx, db, have, version)
}

// compareSchema compares the objects with those that the migrations make.
func compareSchema(ctx context.Context, db querier, have []object, version int) error {
	model, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return err
	}
	defer model.Close()
	model.SetMaxOpenConns(1)
	for _, name := range steps()[:version] {
		text, err := migrations.ReadFile(name)
		if err != nil {
			return err
		}
		if _, err := model.ExecContext(ctx, string(text)); err != nil {
			return err
		}
	}
	want, _, err := schemaOf(ctx, model)
	if err != nil {
		return err
	}
	there := map[[2]string]string{}
	for _, o := range have {
		there[[2]string{o.kind, o.name}] = o.text
	}
	ours := map[[2]string]bool{}
	slices.SortStableFunc(want, func(x, y object) int { // a table says more than its index
		return strings.Compare(strings.Replace(x.kind, "table", "", 1), strings.Replace(y.kind, "table", "", 1))
	})
	for _, o := range want {
		k := [2]string{o.kind, o.name}
		ours[k] = true
		text, ok := there[k]
		switch {
		case !ok:
			return fmt.Errorf("%w: it has no %s %q; put back a copy from %s", ErrDamaged, o.kind, o.name, BackupsFolder)
		case o.kind == "trigger" || o.kind == "view":
			if bare(text) != bare(o.text) {
				return fmt.Errorf("%w: its %s %q is not hueward's; do not use a book from someone you do not trust", ErrNotBook, o.kind, o.name)
			}
		case o.kind == "table":
			if missing, err := missingColumn(ctx, db, model, o.name); err != nil {
				return err
			} else if missing != "" {
				return fmt.Errorf("%w: its table %q has no %q; put back a copy from %s", ErrDamaged, o.name, missing, BackupsFolder)
			}
		}
	}
	for _, o := range have {
		if (o.kind == "trigger" || o.kind == "view") && !ours[[2]string{o.kind, o.name}] {
			return fmt.Errorf("%w: it has a %s %q that is not hueward's; do not use a book from someone you do not trust", ErrNotBook, o.kind,
				o.name)
		}
	}
	return nil
}

// bare is SQL without its comments and with single spaces.
func bare(text string) string {
	var out []string
	for line := range strings.Lines(text) {
		line, _, _ = strings.Cut(line, "--")
		out = append(out, strings.Fields(line)...)
	}
	return strings.Join(out, " ")
}

// missingColumn is a column of the model's table that the database's lacks, with the
// same type; empty: none.
func missingColumn(ctx context.Context, db, model querier, table string) (string, error) {
	columns := func(q querier) (map[string]string, error) {
		rows, err := q.QueryContext(ctx, "SELECT name, type || pk FROM pragma_table_info(?)", table)
		if err != nil {
			return nil, Wrap(err)
		}
		defer rows.Close()
		out := map[string]string{}
		for rows.Next() {
			var name, kind string
			if err := rows.Scan(&name, &kind); err != nil {
				return nil, err
			}
			out[name] = kind
		}
		return out, rows.Err()
	}
	want, err := columns(model)
	if err != nil {
		return "", err
	}
	have, err := columns(db)
	if err != nil {
		return "", err
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		if have[name] != want[name] {
			return name, nil
		}
	}
	return "", nil
}
