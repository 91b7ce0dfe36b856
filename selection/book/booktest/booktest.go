// Package booktest makes breeding books for tests and looks into them by SQL, as
// another program would.
package booktest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	_ "modernc.org/sqlite"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/sqlite"
)

// Noon is the clock of every book in the tests.
var Noon = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

// Clock are options that set a book's clock to Noon.
var Clock = &book.Options{Now: func() time.Time { return Noon }}

// Buff is a shade to breed towards.
var Buff = cie.Lab{L: 76, A: 16, B: 34}

// Phone is the colour correction that was learnt for a phone.
var Phone = book.CameraModel{
	Camera: "Made-up Phone 3", Model: []byte(`{"version":1,"kind":"matrix"}`),
	Kind: "matrix", Patches: 24, Error: 1.25, Photo: "chart.jpg", LearntAt: Noon,
}

// prepared are the files of a new and of a filled book, made once and held in memory.
var prepared = map[bool]func() (fs.FS, error){false: sync.OnceValues(func() (fs.FS, error) { return prepare(false) }),
	true: sync.OnceValues(func() (fs.FS, error) { return prepare(true) })}

func prepare(filled bool) (fs.FS, error) {
	around, err := os.MkdirTemp("", "book-prepared-*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(around)
	dir := filepath.Join(around, "garden")
	b, err := book.Create(context.Background(), dir, Clock)
	if err == nil && filled {
		err = fill(b)
	}
	if err == nil {
		err = b.Close()
	}
	if err != nil {
		return nil, err
	}
	return Held(dir)
}

// Held returns the files below dir, read into memory.
func Held(dir string) (fs.FS, error) {
	held := fstest.MapFS{}
	from := os.DirFS(dir)
	return held, fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
		f := &fstest.MapFile{}
		if err == nil && d.IsDir() {
			f.Mode = fs.ModeDir | 0o777
		} else if err == nil {
			f.Data, err = fs.ReadFile(from, name)
		}
		held[name] = f
		return err
	})
}

// New starts a book in a fresh folder.
func New(t testing.TB) *book.Book { return open(t, false) }

// Filled returns a book with a little of everything.
func Filled(t testing.TB) *book.Book { return open(t, true) }

func open(t testing.TB, filled bool) *book.Book {
	t.Helper()
	return Open(t, copied(t, must.Have(prepared[filled]())(t)))
}

// Open opens the book in dir until the test ends.
func Open(t testing.TB, dir string) *book.Book {
	t.Helper()
	b := must.Have(book.Open(context.Background(), dir, Clock))(t)
	t.Cleanup(func() { b.Close() })
	return b
}

// fill puts a little of everything into the book.
func fill(b *book.Book) error {
	ctx := context.Background()
	err := b.SetTarget(ctx, "marigold", book.Target{Lab: Buff, Source: "--lab"})
	for _, p := range [2][3]string{{"M-1", "IMG_0412.jpg", "first bloom"}, {"M-2", "IMG_0413.jpg", "second bloom"}} {
		file := filepath.Join(filepath.Dir(b.Dir()), p[1])
		err = errors.Join(err, os.WriteFile(file, []byte(p[2]), 0o644))
		_, e := b.Record(ctx, book.Entry{File: file, Line: "marigold", Season: "2026", Plant: p[0], Reading: Reading(p[2])})
		err = errors.Join(err, e)
	}
	meter := book.InstrumentReading{Plant: "M-2", Season: "2026", Source: "colorimeter", Lab: Buff, SE: 0.3}
	err = errors.Join(err, b.AddInstrumentReading(ctx, meter), b.SetStatus(ctx, book.Kept, "M-1"))
	_, e := b.SetCameraModel(ctx, Phone)
	return errors.Join(err, e)
}

// WriteFile writes a file outside of any book and returns its path.
func WriteFile(t testing.TB, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	must.OK(t, os.WriteFile(path, []byte(content), 0o644))
	return path
}

// Reading is a sound reading of a file with that content.
func Reading(content string) *colorimg.Reading {
	sum := sha256.Sum256([]byte(content))
	return &colorimg.Reading{
		SHA256: hex.EncodeToString(sum[:]), Status: colorimg.OK, Method: 1,
		TakenAt: &colorimg.TakenAt{Time: time.Date(2026, 8, 13, 9, 30, 0, 0, time.UTC)},
		Camera:  "Made-up Phone 3", Size: [2]int{4000, 3000},
		Lab: &colorimg.Triple{74.2, 18.5, 36.1}, LCh: &colorimg.Triple{}, Hex: "#dfa97a", Name: "moderate orange",
		SE:    colorimg.Errors{Precision: 0.4, Trueness: 1.9},
		SELab: &colorimg.Triple{0.3, 0.2, 0.3}, Spread: &colorimg.Triple{3, 2, 4},
		Colors: []colorimg.Share{{Lab: colorimg.Triple{74, 18, 36}, Share: 0.8}, {Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}},
		Petal: colorimg.PetalArea{Pixels: 120000, Share: 0.01, Bloom: &colorimg.Point{1200.5, 900.25},
			Outline:        [][]colorimg.Point{{{1, 2}, {3, 4}, {5, 6.5}}},
			DiameterPixels: 812.5, DiameterMM: 64.2},
		Radial: []colorimg.Ring{{At: 0.25, Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}, {At: 0.75, Lab: colorimg.Triple{74, 18, 36},
			Share: 0.8}},
		Zones: []colorimg.Zone{{Name: "eye", From: 0.1, To: 0.4, Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}},
		Tag:   colorimg.TagRead{Found: true, Text: "M-1", Corners: &[4]colorimg.Point{{5, 5}, {25, 5}, {25, 25.5}, {5, 25}}, MM: 20},
		Model: "matrix of 24 patches",
		Card: colorimg.CardRead{Found: true, Kind: "strip", Corners: &[4]colorimg.Point{{10, 10}, {90, 12}, {88, 70}, {9, 69}},
			Gains: [3]float64{1.1, 1, 0.9}, CCT: 5600, EV: -0.3},
		Profile: "Display P3", Flags: []colorimg.Flag{colorimg.FlagCardSmall},
	}
}

// Record keeps a file of that name and content as a photo of the plant.
func Record(t testing.TB, b *book.Book, plant, name, content string) *book.Recorded {
	t.Helper()
	return must.Have(b.Record(context.Background(), book.Entry{
		File: WriteFile(t, name, content), Line: "marigold", Season: "2026", Plant: plant, Reading: Reading(content),
	}))(t)
}

// Tree lists the files and folders below dir, except the database and SQLite's files beside it.
func Tree(t testing.TB, dir string) []string {
	t.Helper()
	var out []string
	must.OK(t, filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(dir, path)
		switch rel {
		case ".", "book.db", "book.db-wal", "book.db-shm", "backups":
		default:
			out = append(out, filepath.ToSlash(rel))
		}
		return nil
	}))
	return out
}

// SameFile reports whether two files have the same content.
func SameFile(t testing.TB, x, y string) bool {
	t.Helper()
	return bytes.Equal(must.Have(os.ReadFile(x))(t), must.Have(os.ReadFile(y))(t))
}

// CopyDir copies a folder into a fresh one.
func CopyDir(t testing.TB, from string) string { return copied(t, os.DirFS(from)) }

func copied(t testing.TB, from fs.FS) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "book")
	must.OK(t, os.CopyFS(to, from))
	return to
}

// T is a test, or a draw of one.
type T interface {
	Helper()
	Errorf(format string, args ...any)
	Fatal(args ...any)
}

// Same fails the test if got differs from want.
func Same(t T, what string, want, got any) {
	t.Helper()
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

// DB opens the book's database beside it, without checks of its references.
func DB(t testing.TB, b *book.Book) *sql.DB {
	t.Helper()
	db := openDB(t, b)
	t.Cleanup(func() { db.Close() })
	return db
}

func openDB(t T, b *book.Book) *sql.DB {
	t.Helper()
	return must.Have(sql.Open("sqlite", filepath.Join(b.Dir(), book.DBName)+"?_pragma=busy_timeout(15000)&_txlock=immediate"))(t)
}

// Contents returns all that the book holds, as text by table, with names in place of row
// numbers, so that two books can be compared. It learns the tables and their
// references from the database itself. The history is left out.
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
			if c == "id" || c == "sum" { // a sum includes row numbers
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

// Rows returns all rows, with their row numbers, of the tables that hold what the grower
// enters.
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

// Tables returns the names of the book's tables, except those of its history and of the requests.
func Tables(t T, db *sql.DB) []string {
	t.Helper()
	return Column(t, db, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'
		AND name NOT IN ('change', 'changed_row', 'change_now', 'request') ORDER BY name`)
}

// columnsBySchema are the tables and columns of each schema that was looked at: to ask takes as long as to read a small book.
var columnsBySchema sync.Map

// ColumnsOfAll returns the columns of each table.
func ColumnsOfAll(t T, db *sql.DB) map[string][]string {
	t.Helper()
	schema := strings.Join(Column(t, db, `SELECT coalesce(sql, '') FROM sqlite_schema`), ";")
	all, ok := columnsBySchema.Load(schema)
	if !ok {
		all = Column(t, db, `SELECT m.name || ' ' || c.name FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.type = 'table'
			ORDER BY m.name, c.cid`)
		columnsBySchema.Store(schema, all)
	}
	out := map[string][]string{}
	for _, s := range all.([]string) {
		table, column, _ := strings.Cut(s, " ")
		out[table] = append(out[table], column)
	}
	return out
}

// Column returns the first column of the query's result.
func Column(t T, db *sql.DB, query string, args ...any) []string {
	t.Helper()
	out, err := sqlite.Column[string](context.Background(), db, query, args...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Count returns the number of rows in the table.
func Count(t T, b *book.Book, table string) int {
	t.Helper()
	db := openDB(t, b)
	defer db.Close()
	return len(Column(t, db, fmt.Sprintf("SELECT id FROM %q", table)))
}
