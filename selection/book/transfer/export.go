package transfer

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/exchange"
	"hueward/selection/book/sqlite"
)

// Table is one table of the book, on its way out.
type Table struct {
	Name    string // of [TableNames]
	Columns []exchange.Column
	// Rows are read while the export goes on, once. Values are those of
	// [exchange.Column.Parse], valid until the next row.
	Rows iter.Seq2[[]any, error]
}

// Export gives f one table after the other, all as the book was at one moment; names choose some of [TableNames], none
// all of them. The plants' newest scores stand in further columns, one a trait.
func Export(ctx context.Context, b *book.Book, f func(t Table) error, names ...string) error {
	for _, n := range names {
		if kindNamed(n) == nil {
			return fmt.Errorf("%q is not a table of the book; want one of %s", n, strings.Join(TableNames(), ", "))
		}
	}
	if err := sound(ctx, b); err != nil {
		return err
	}
	return b.Snapshot(ctx, func(c *sql.Conn) error {
		for _, k := range kinds {
			if len(names) > 0 && !slices.ContainsFunc(names, func(n string) bool { return kindNamed(n) == k }) {
				continue
			}
			if err := exportTable(ctx, c, k, f); err != nil {
				return err
			}
		}
		return nil
	})
}

func exportTable(ctx context.Context, c *sql.Conn, k *tableKind, f func(t Table) error) error {
	t := Table{Name: k.Name, Columns: slices.Clone(k.Columns)}
	var exprs []string
	for _, col := range k.columns {
		exprs = append(exprs, col.shown())
	}
	if k == plantKind {
		traits, err := sqlite.Collect(ctx, c, "SELECT id, name FROM trait WHERE id IN (SELECT trait_id FROM score) ORDER BY id", nil,
			func(rows *sql.Rows, t *scoredTrait) error { return rows.Scan(&t.id, &t.name) })
		if err != nil {
			return err
		}
		for _, tr := range traits {
			name := tr.name
			if k.at(name) >= 0 {
				name = traitPrefix + name
			}
			t.Columns = append(t.Columns, exchange.Column{Name: name, Type: exchange.Real})
			exprs = append(exprs, fmt.Sprintf("(SELECT value FROM score WHERE plant_id = t.id AND trait_id = %d ORDER BY id DESC LIMIT 1)", tr.id))
		}
	}
	query := fmt.Sprintf("SELECT %s FROM %q t ORDER BY t.id", strings.Join(exprs, ", "), k.table)
	t.Rows = func(yield func([]any, error) bool) {
		rows, err := c.QueryContext(ctx, query)
		if err != nil {
			yield(nil, sqlite.Wrap(err))
			return
		}
		defer rows.Close()
		vals, to := anyRow(len(exprs))
		for rows.Next() {
			if err := rows.Scan(to...); err != nil {
				yield(nil, sqlite.Wrap(err))
				return
			}
			parted(t.Columns, vals)
			if !yield(vals, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(nil, sqlite.Wrap(err))
		}
	}
	return f(t)
}

// shown is how the column is read with names instead of row numbers.
func (c *kindColumn) shown() string {
	switch {
	case c.query != "":
		return c.query
	case c.ref == "":
		return "t." + c.sql
	}
	k := kindNamed(c.ref)
	return fmt.Sprintf("(SELECT %s FROM %q WHERE id = t.%s)", k.columns[k.at(k.key[0])].sql, k.table, c.sql)
}

type scoredTrait struct {
	id   int64
	name string
}

// WriteCSV writes the table with a first line of column names.
func (t Table) WriteCSV(w *exchange.Writer) (rows int, err error) {
	cells := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		cells[i] = c.Name
	}
	w.Write(cells)
	for vals, err := range t.Rows {
		if err != nil {
			return rows, err
		}
		for i := range t.Columns {
			cells[i] = t.Columns[i].Format(vals[i])
		}
		w.Write(cells)
		rows++
	}
	return rows, w.Flush()
}

// Exported is what [ExportDir] wrote.
type Exported struct {
	Files  []string       // in the order written
	Rows   map[string]int // of each table
	Photos int            // files copied
	Lost   []string       // photos, as paths in the book, whose file is missing or is not what it was
}

// ExportDir writes every table as a CSV file into the folder dir, and with photos the photos' files, too. The folder
// must be new or empty, or, with replace, hold an earlier export and nothing else; it is there whole or not at all.
func ExportDir(ctx context.Context, b *book.Book, dir string, photos, replace bool) (_ *Exported, err error) {
	dir, err = book.Outside(dir)
	if err != nil {
		return nil, err
	}
	if _, err := PutBack(dir); err != nil {
		return nil, err
	}
	old, err := checkOut(dir, replace)
	if err != nil {
		return nil, err
	}
	defer func() { err = into(dir, err) }()
	clearOld(dir, time.Now())
	if err := disk.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
		return nil, err
	}
	// A folder of its own around it: one that MkdirTemp made is for its owner alone.
	around, err := disk.MkdirTemp(filepath.Dir(dir), "."+filepath.Base(dir)+"-*")
	if err != nil {
		return nil, err
	}
	defer disk.RemoveAll(around)
	half := filepath.Join(around, "export")
	if err := disk.Mkdir(half, 0o777); err != nil {
		return nil, err
	}
	out := &Exported{Rows: map[string]int{}}
	err = Export(ctx, b, func(t Table) error {
		out.Files = append(out.Files, t.Name+".csv")
		return writeFile(filepath.Join(half, t.Name+".csv"), func(w *exchange.Writer) (err error) {
			out.Rows[t.Name], err = t.WriteCSV(w)
			return err
		})
	})
	if err == nil {
		err = writeManifest(half, out)
	}
	if err == nil && photos {
		err = copyPhotosOut(ctx, b, half, out)
	}
	if err != nil {
		return nil, err
	}
	if err := swap(half, dir, old); err != nil {
		return nil, err
	}
	disk.SyncDir(filepath.Dir(dir))
	return out, nil
}

// writeFile makes a file of rows, synced.
func writeFile(file string, write func(w *exchange.Writer) error) error {
	f, err := disk.Create(file)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := write(exchange.NewWriter(f)); err != nil {
		return err
	}
	return f.Finish()
}

// into is the error of writing something of an export into dir, without the name that it has until it is finished.
func into(dir string, err error) error {
	var p *fs.PathError
	if !errors.As(err, &p) {
		return err
	}
	how := "; name another folder"
	if disk.InTrouble(err) {
		how = ""
	}
	return fmt.Errorf("export to %s: %w%s", dir, p.Err, how)
}

// swap moves the finished folder to its place; an old one goes only then. Where the system
// cannot do both at once, [PutBack] mends what a program that is killed leaves.
func swap(half, dir string, old bool) error {
	if !old {
		if err := disk.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) { // empty
			return err
		}
		return disk.Rename(half, dir)
	}
	if err := disk.Exchange(half, dir); !errors.Is(err, errors.ErrUnsupported) {
		return err // the old one goes with the folder around it
	}
	away := half + movedAway
	if err := disk.Rename(dir, away); err != nil {
		return err
	}
	if err := disk.Rename(half, dir); err != nil {
		return errors.Join(err, disk.Rename(away, dir))
	}
	return nil
}

// copyPhotosOut copies the photos' files into the export, at the same paths.
func copyPhotosOut(ctx context.Context, b *book.Book, dir string, out *Exported) error {
	ps, err := b.Photos(ctx, "", "")
	if err != nil {
		return err
	}
	for _, p := range ps {
		if b.PhotoFile(p) == "" {
			out.Lost = append(out.Lost, p.Path)
			continue
		}
		to := filepath.Join(dir, filepath.FromSlash(p.Path))
		if err := disk.MkdirAll(filepath.Dir(to), 0o777); err != nil {
			return err
		}
		whole, err := disk.CopyWhole(ctx, b.PhotoFile(p), to, p.SHA256)
		if err != nil && ctx.Err() == nil && !disk.InTrouble(err) && !disk.Readable(b.PhotoFile(p)) {
			whole, err = false, nil
		}
		if err != nil {
			return fmt.Errorf("copy photo %q: %w", p.Path, err)
		}
		if whole {
			out.Photos++
		} else {
			out.Lost = append(out.Lost, p.Path)
		}
	}
	return nil
}
