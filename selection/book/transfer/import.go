// Package transfer takes a breeding book out as tables of text and such tables in, all of
// their rows or none: [Export], [ExportDir] and [Import]. Rows name each other by what
// the grower calls them, never by number; kind.go says which columns there are.
package transfer

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
	"hueward/selection/written"
)

// ImportOptions say how tables are taken in; the zero value is the usual case.
type ImportOptions struct {
	As     string   // what all of the files are, of [TableNames]; empty: told by their columns
	Update bool     // rows that differ from the book's change it; else they are errors
	DryRun bool     // say what would be done, and do nothing
	Ignore []string // columns to pass over

	Order written.Order // of day and month in 12/7/2026
}

// ImportedTable is what was taken in of one file.
type ImportedTable struct {
	File    string
	Kind    string // of [TableNames]
	Added   int
	Same    int // in the book already, just so
	Updated int
}

// Imported is what an import did.
type Imported struct {
	Tables       []ImportedTable
	Lines        []string // that the book did not have, in order of name
	Seasons      []string
	WithoutFile  int // photos whose file came along neither there nor was in the book's folder
	PhotosCopied int
	Ahead        []string // the first few days that lie ahead of the clock, each with its place
}

// ImportError is why nothing was imported.
type ImportError struct {
	Problems []error // the first of them; mostly *exchange.Error
	More     int     // how many others there are
}

func (e *ImportError) Error() string {
	s := errors.Join(e.Problems...).Error()
	if e.More > 0 {
		s += fmt.Sprintf("\nand %d more", e.More)
	}
	return s
}

// Unwrap gives the problems to errors.Is and errors.As.
func (e *ImportError) Unwrap() []error { return e.Problems }

// mostProblems is how many problems an import tells of.
const mostProblems = 20

// errDryRun takes back what a dry run did.
var errDryRun = errors.New("dry run")

// Import takes in tables as [Export] writes them, or with fewer columns, all rows of all files or, with an
// [*ImportError], none. Files may come in any order, and their rows, too: parents may follow their offspring. Lines,
// seasons and the usual traits that rows name are added. A row that is in the book already is passed over; columns that
// a file does not have are left alone. Photos' files are copied from beside their table. [book.Book.Undo] takes an
// import back, but for the copies of photos.
func Import(ctx context.Context, b *book.Book, files []string, opt *ImportOptions) (_ *Imported, err error) {
	im := &importer{b: b, ctx: ctx, named: files, opt: *cmp.Or(opt, &ImportOptions{})}
	defer im.close()
	var as *tableKind
	if im.opt.As != "" {
		if as = kindNamed(im.opt.As); as == nil {
			return nil, fmt.Errorf("%q is not a table of the book; want one of %s", im.opt.As, strings.Join(TableNames(), ", "))
		}
	}
	var manifests []string
	for _, file := range files {
		if filepath.Base(file) == ManifestName {
			manifests = append(manifests, file)
			continue
		}
		im.open(file, as)
	}
	if im.unopened { // what the other tables lack would be told, too
		return nil, im.wrong()
	}
	for _, file := range manifests {
		im.checkManifest(file)
	}
	slices.SortStableFunc(im.sources, func(x, y *source) int { return slices.Index(kinds, x.kind) - slices.Index(kinds, y.kind) })
	for _, s := range im.sources {
		if s.kind.key != nil {
			im.load(s)
		}
	}
	if err := im.receivePhotos(); err != nil {
		return nil, err
	}
	var out *Imported
	err = b.Change(ctx, func(t *record.Tx) (what string) {
		im.tx = t
		if im.run(); t.Err() == nil && len(im.problems) > 0 {
			t.Fail(im.wrong())
		}
		if out, what = im.report(); im.opt.DryRun {
			t.Fail(errDryRun)
		}
		return what
	})
	if err != nil && !errors.Is(err, sqlite.ErrUnsure) {
		im.undoPhotos()
	}
	if errors.Is(err, errDryRun) {
		return out, nil
	}
	if err != nil {
		return nil, err
	}
	return out, nil
}

// wrong is what was found wrong, in order of the files and their lines.
func (im *importer) wrong() error {
	place := func(err error) (file string, line int) {
		var e *exchange.Error
		if errors.As(err, &e) {
			return e.File, e.Line
		}
		return "", 0
	}
	slices.SortStableFunc(im.problems, func(x, y error) int {
		f, l := place(x)
		g, m := place(y)
		return cmp.Or(slices.Index(im.named, f)-slices.Index(im.named, g), l-m)
	})
	return &ImportError{im.problems, im.more}
}

// importer is one import under way.
type importer struct {
	b   *book.Book
	ctx context.Context
	opt ImportOptions

	tx *record.Tx

	named    []string // the files, in the order given
	sources  []*source
	problems []error
	more     int
	unopened bool // a file could not be opened

	index   map[*tableKind]*index
	traits  map[int64]*book.Trait
	numbers map[[2]int64]int64 // plant and number of a head: its row
	shown   map[int64][2]any   // photo: plant and season
	paths   map[string]bool    // of photos
	files   photoFiles
	ranges  []added
	ahead   []string
}

// source is one file.
type source struct {
	*exchange.Table
	kind   *tableKind
	closer *disk.File
	rows   []*importRow // of a kind with keys
	done   ImportedTable
}

// importRow is a row on its way into the book.
type importRow struct {
	kind *tableKind
	from *source // nil: it follows from another row
	line int
	id   int64
	old  []any // as it is in the book; nil: it is new
	vals []any // of the kind's columns, references as row numbers, then the file's extra ones
}

// fail notes a problem with a row; column may be empty.
func (im *importer) fail(r *importRow, column, format string, args ...any) {
	if r.from == nil {
		im.problem(fmt.Errorf(format, args...))
		return
	}
	if i := r.kind.at(column); i >= 0 {
		column = r.from.Name(i)
	}
	im.problem(&exchange.Error{File: r.from.File, Line: r.line, Column: column, Reason: fmt.Sprintf(format, args...)})
}

// failErr is fail with the remedy of an error.
func (im *importer) failErr(r *importRow, column string, err error) {
	im.fail(r, column, "%v", err)
	if n := len(im.problems); n > 0 && im.more == 0 {
		var e *exchange.Error
		if how, ok := remedy.Of(err); ok && errors.As(im.problems[n-1], &e) {
			e.Remedy = how
		}
	}
}

func (im *importer) problem(err error) {
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range j.Unwrap() {
			im.problem(e)
		}
		return
	}
	if len(im.problems) >= mostProblems {
		im.more++
		return
	}
	im.problems = append(im.problems, err)
}

func (im *importer) close() {
	for _, s := range im.sources {
		s.closer.Close()
	}
	im.files.discard()
}

// load reads a file of a kind with keys whole.
func (im *importer) load(s *source) {
	seen := map[string]int{}
	for r := range im.rows(s) {
		key, ok := im.keyOf(r)
		if !ok {
			continue
		}
		if old, twice := seen[key]; twice {
			im.fail(r, s.kind.key[0], "%s %s is in line %d already", s.kind.one, exchange.Quote(r.name()), old)
			continue
		}
		seen[key] = r.line
		s.rows = append(s.rows, r)
	}
}

// name is what tells the row from others, in words.
func (r *importRow) name() string {
	var parts []string
	for _, k := range r.kind.key {
		s, _ := r.vals[r.kind.at(k)].(string)
		parts = append(parts, s)
	}
	return strings.Join(parts, " ")
}

// keyOf is what the row is found by; a row without is a problem.
func (im *importer) keyOf(r *importRow) (string, bool) {
	for _, k := range r.kind.key {
		if r.vals[r.kind.at(k)] == nil {
			im.fail(r, k, "is empty; name the %s", r.kind.one)
			return "", false
		}
	}
	if r.kind.keyed {
		return naming.Key(r.name()), true
	}
	return r.name(), true
}

// run does the import in its transaction.
func (im *importer) run() {
	// Rows may name others that come later.
	im.tx.Do("PRAGMA defer_foreign_keys = 1")
	im.loadIndex()
	// Every row of a kind with keys gets its number first, so that rows may name others that come later.
	for _, s := range im.sources {
		for _, r := range s.rows {
			im.register(r)
		}
	}
	for _, s := range im.sources {
		for _, r := range s.rows {
			if im.tx.Err() == nil {
				im.resolve(r)
			}
		}
		im.tx.Fail(im.ctx.Err())
	}
	im.checkAncestors()
	for _, s := range im.sources {
		for _, r := range s.rows {
			if r.old != nil && im.tx.Err() == nil {
				im.compare(r)
			}
		}
	}
	im.quietly(func() {
		im.insertNew()
		for _, s := range im.sources {
			if s.kind.key == nil {
				im.stream(s)
				continue
			}
			for _, r := range s.rows {
				if r.old == nil {
					s.done.Added++
				}
			}
		}
		im.scoreColumns()
		// Lines, seasons and traits that the last ones named.
		im.insertNew()
	})
}

// report sums up what was done, and says it in the words of the history.
func (im *importer) report() (*Imported, string) {
	out := &Imported{Lines: im.followed(lineKind), Seasons: im.followed(seasonKind), WithoutFile: im.files.missing,
		PhotosCopied: im.files.copied, Ahead: im.ahead}
	var what []string
	rows := 0
	for _, s := range im.sources {
		d := s.done
		out.Tables = append(out.Tables, d)
		n := d.Added + d.Updated
		if n == 0 {
			continue
		}
		rows += n
		words := s.kind.many
		if n == 1 {
			words = s.kind.one
		}
		what = append(what, fmt.Sprintf("%d %s from %s", n, words, filepath.Base(s.File)))
	}
	if len(what) > 3 {
		what = []string{fmt.Sprintf("%d rows from %d tables", rows, len(what))}
	}
	return out, "imported " + strings.Join(what, ", ")
}
