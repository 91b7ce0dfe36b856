package transfer

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strconv"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/exchange"
	"hueward/selection/book/remedy"
)

// ManifestName is the file of an export that says what the others hold: a row for each table, with how many rows it has
// and its SHA-256. A table from which rows were lost on the way is noticed by it; one to which rows were added, or in
// which something was corrected, is taken in as it is.
const ManifestName = "manifest.csv"

var manifestHead = []string{"table", "rows", "sha256"}

var manifestKind = exchange.Kind{Name: "manifests", Need: manifestHead, Columns: []exchange.Column{
	{Name: "table"}, {Name: "rows", Type: exchange.Count}, {Name: "sha256", Clean: cleanSum},
}}

// sound fails where the book is damaged: an export of it could lack rows in silence.
func sound(ctx context.Context, b *book.Book) error {
	found, err := b.Integrity(ctx)
	if err == nil && len(found) > 0 {
		err = remedy.Step(remedy.Check).Errorf("%w: %s; nothing was exported, as rows could be missing; look at the whole book", book.ErrDamaged,
			found[0])
	}
	return err
}

// writeManifest writes the manifest of the tables in dir.
func writeManifest(dir string, out *Exported) error {
	return writeFile(filepath.Join(dir, ManifestName), func(w *exchange.Writer) error {
		w.Write(manifestHead)
		for _, k := range kinds {
			n, there := out.Rows[k.Name]
			if !there {
				continue
			}
			sum, err := disk.Sum(filepath.Join(dir, k.Name+".csv"))
			if err != nil {
				return err
			}
			w.Write([]string{k.Name, strconv.Itoa(n), sum})
		}
		return w.Flush()
	})
}

// checkManifest compares the tables that are imported with a manifest that came with them; what they lack is a problem.
func (im *importer) checkManifest(file string) {
	f, err := im.openTable(file)
	if err != nil {
		im.problem(err)
		return
	}
	defer f.Close()
	t, err := exchange.NewTable(file, f, nil, &exchange.Options{Kind: &manifestKind})
	if err != nil {
		im.problem(err)
		return
	}
	const how = "export the book again, or leave " + ManifestName + " out if that is meant"
	for {
		row, errs := t.Next()
		for _, err := range errs {
			im.problem(err)
		}
		if row == nil {
			return
		}
		if len(errs) > 0 {
			continue
		}
		name, _ := row.Values[0].(string)
		rows, _ := row.Values[1].(int64)
		fail := func(format string, args ...any) {
			im.problem(&exchange.Error{File: file, Line: row.Line, Reason: fmt.Sprintf(format, args...) + "; " + how})
		}
		table := filepath.Join(filepath.Dir(file), name+".csv")
		if kindNamed(name) == nil || !im.imports(table) {
			if rows > 0 {
				fail("the table %s of %d rows is missing", exchange.Quote(name), rows)
			}
			continue
		}
		n, err := countRows(table)
		if err != nil {
			continue // told where it is read
		}
		if n < rows {
			fail("%s has %d rows, and %d when it was exported", filepath.Base(table), n, rows)
		}
	}
}

// imports reports whether the file is among those that are imported.
func (im *importer) imports(file string) bool {
	for _, s := range im.sources {
		if filepath.Clean(s.File) == file {
			return true
		}
	}
	return false
}

// countRows is how many rows a table has below its first line.
func countRows(file string) (n int64, err error) {
	f, err := disk.Open(file)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	r := exchange.NewReader(file, f)
	for n = -1; ; n++ {
		if _, err := r.Read(); err == io.EOF {
			return n, nil
		} else if err != nil {
			return n, err
		}
	}
}
