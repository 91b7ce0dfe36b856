package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// A book may come from anyone: what it says of itself is not believed before its
// tables are those of a book of its version, and no trigger or view is another's.

// newestSchema is the digest of the schema that the newest version has, by which it is
// known at once; TestNewestSchema says it.
const newestSchema = "8376eff91b4cd168f5af58f3d264e47855817d674df05e75653978c63c066af8"

// object is a table, index, trigger or view of a database.
type object struct{ kind, name, text string }

// schemaOf reads a database's objects, but for SQLite's own.
func schemaOf(ctx context.Context, db Querier) (all []object, digest string, err error) {
	sum := sha256.New()
	all, err = Collect(ctx, db, `SELECT type, name, coalesce(sql, '') FROM sqlite_schema
		WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY type, name`, nil, func(rows *sql.Rows, o *object) error {
		err := rows.Scan(&o.kind, &o.name, &o.text)
		for _, v := range [3]string{o.kind, o.name, o.text} {
			sum.Write(binary.AppendUvarint(nil, uint64(len(v)))) // where one ends is part of it
			io.WriteString(sum, v)
		}
		return err
	})
	return all, hex.EncodeToString(sum.Sum(nil)), err
}

// CheckSchema refuses a database that is not one of a book's of its version.
func CheckSchema(ctx context.Context, db *sql.DB) error {
	version, err := versionOf(ctx, db)
	switch {
	case err != nil:
		return err
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
func compareSchema(ctx context.Context, db Querier, have []object, version int) error {
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
func missingColumn(ctx context.Context, db, model Querier, table string) (string, error) {
	const columns = "SELECT name, type || pk FROM pragma_table_info(?)"
	want, err := Pairs[string, string](ctx, model, columns, table)
	if err != nil {
		return "", err
	}
	have, err := Pairs[string, string](ctx, db, columns, table)
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
