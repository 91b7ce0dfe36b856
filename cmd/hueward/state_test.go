package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/xuri/excelize/v2"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/sqlite"
	"hueward/selection/book/transfer"
)

// What stands in a folder around a book, told so that what a command left can be held
// against what was there before it and what is there when it gets through.

// world is a folder with a book in "garden", and what commands read and write beside it.
type world struct {
	rows  string            // every row of every table but the sums, times masked
	named map[string]bool   // the rows of what was entered, with names in place of row numbers; nil: see name
	dir   string            // of the book
	files map[string]string // what is in each file but the database's own, by its name with times masked
	left  []string          // hidden copies that were not finished: no harm, and no part of the world
}

var stamps = regexp.MustCompile(`\d{4}-\d\d-\d\dT\d\d:?\d\d:?\d\d(\.\d+)?Z?`)

func masked(s string) string { return stamps.ReplaceAllString(s, "TIME") }

// openBook opens the book in dir as the next command would and tells all rows of it. It is
// an error where the book is damaged.
func openBook(dir string) (b *book.Book, rows string, err error) {
	b, err = book.Open(context.Background(), dir, nil)
	if err != nil {
		return nil, "", fmt.Errorf("the book does not open: %w", err)
	}
	found, err := b.Integrity(context.Background())
	if err == nil && len(found) > 0 {
		err = fmt.Errorf("the book is damaged: %s", strings.Join(found, "; "))
	}
	if err == nil {
		rows, err = dump(filepath.Join(dir, book.DBName))
	}
	if err != nil {
		b.Close()
	}
	return b, rows, err
}

// lookAt tells what is in the folder. It is an error where anything is half: the book, a
// photo, a backup, an export.
func lookAt(root string) (_ *world, err error) {
	b, rows, err := openBook(filepath.Join(root, "garden"))
	if err != nil {
		return nil, err
	}
	defer func() { err = cmp.Or(err, b.Close()) }()
	w := &world{rows: rows, files: map[string]string{}, dir: b.Dir()}
	photos, err := b.Photos(context.Background(), "", "")
	if err != nil {
		return nil, err
	}
	err = filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(root, file)
		rel = filepath.ToSlash(rel)
		base := filepath.Base(rel)
		switch {
		case base == ".incoming":
			return nil
		case strings.Contains(rel, "/.incoming/"), strings.HasPrefix(base, "book.db.new"), strings.HasPrefix(base, ".") && rel != ".",
			strings.HasSuffix(base, ".new"):
			w.left = append(w.left, rel)
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		case rel == "in":
			return fs.SkipDir // what commands read
		case d.IsDir(), strings.HasPrefix(rel, "garden/book.db"), strings.HasPrefix(base, "book.db-"):
			return nil
		case base == "book.db":
			b, rows, err := openBook(filepath.Dir(file))
			if err != nil {
				return err
			}
			w.files[rel] = sum([]byte(rows))
			return b.Close()
		case filepath.Ext(rel) == ".db":
			return w.addBackup(root, rel)
		case strings.HasSuffix(rel, "/"+transfer.ManifestName):
			if err := wholeExport(filepath.Dir(file)); err != nil {
				return err
			}
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		if filepath.Ext(rel) == ".xlsx" { // it holds the moment of its making, packed
			cells, seen := seenWorkbooks.Load(sum(text))
			if !seen {
				if cells, err = sheets(text); err != nil {
					return fmt.Errorf("half a workbook: %s: %w", rel, err)
				}
				seenWorkbooks.Store(sum(text), cells)
			}
			text = cells.([]byte)
		}
		if filepath.Ext(rel) == ".csv" {
			text = []byte(masked(string(text)))
			if base == transfer.ManifestName { // its sums are of the times, too
				text = nil
			}
		}
		w.files[masked(rel)] = sum(text)
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, p := range photos {
		if got := w.files["garden/"+masked(p.Path)]; got != p.SHA256 {
			return nil, fmt.Errorf("photo %s: its file has the sum %.12q, want %.12q", p.Path, got, p.SHA256)
		}
	}
	return w, nil
}

func sum(text []byte) string {
	s := sha256.Sum256(text)
	return hex.EncodeToString(s[:])
}

// addBackup adds a backup that has its name: it is whole.
func (w *world) addBackup(root, rel string) (err error) {
	t := &failing{}
	defer t.end(&err)
	file := filepath.Join(root, filepath.FromSlash(rel))
	text := must.Have(os.ReadFile(file))(t)
	rows, seen := seenBackups.Load(sum(text))
	if !seen {
		if err := sqlite.Verify(context.Background(), file); err != nil {
			return fmt.Errorf("backup %s: %w", rel, err)
		}
		rows = must.Have(dump(file))(t)
		seenBackups.Store(sum(text), rows)
	}
	name := masked(rel) + " " + sum([]byte(rows.(string)))[:12] // of several with the same rows one counts
	w.files[name] = sum([]byte(rows.(string)))
	return nil
}

// sheets are the cells of a workbook.
func sheets(text []byte) (_ []byte, err error) {
	t := &failing{}
	defer t.end(&err)
	f := must.Have(excelize.OpenReader(bytes.NewReader(text)))(t)
	defer f.Close()
	var out bytes.Buffer
	for _, name := range f.GetSheetList() {
		fmt.Fprintf(&out, "%s %q\n", name, must.Have(f.GetRows(name))(t))
	}
	return []byte(masked(out.String())), nil
}

// What backups that were verified and workbooks hold, by the sum of the file.
var seenBackups, seenWorkbooks sync.Map

// wholeExport holds an export's tables against its manifest.
func wholeExport(dir string) (err error) {
	t := &failing{}
	defer t.end(&err)
	f := must.Have(os.Open(filepath.Join(dir, transfer.ManifestName)))(t)
	defer f.Close()
	rows := must.Have(csv.NewReader(f).ReadAll())(t)
	if len(rows) != 1+len(transfer.TableNames()) {
		return fmt.Errorf("export %s: the manifest has %d lines", dir, len(rows))
	}
	for _, row := range rows[1:] {
		text, err := os.ReadFile(filepath.Join(dir, row[0]+".csv"))
		if err != nil {
			return fmt.Errorf("half an export: %w", err)
		}
		if sum(text) != row[2] {
			return fmt.Errorf("half an export: %s is not what its manifest says", row[0])
		}
	}
	return nil
}

// dump is every row of the tables of a book, its history too. Sums are left out: they
// are of times, and were verified.
func dump(file string) (_ string, err error) {
	t := &failing{}
	defer t.end(&err)
	db := must.Have(sql.Open("sqlite", file+"?_pragma=query_only(1)"))(t)
	defer db.Close()
	var out strings.Builder
	columns := booktest.ColumnsOfAll(t, db)
	for _, table := range append(booktest.Tables(t, db), "change", "changed_row") {
		cols := slices.DeleteFunc(columns[table], func(c string) bool { return c == "sum" })
		quoted := strings.Join(cols, ") || ' ' || quote(")
		for _, row := range booktest.Column(t, db, fmt.Sprintf("SELECT quote(%s) FROM %q ORDER BY id", quoted, table)) {
			fmt.Fprintf(&out, "%s: %s\n", table, masked(row))
		}
	}
	return out.String(), nil
}

// name fills in named, while the book is there.
func (w *world) name() error {
	if w.named != nil {
		return nil
	}
	b, err := book.Open(context.Background(), w.dir, nil)
	if err != nil {
		return err
	}
	defer b.Close()
	w.named, err = named(b)
	return err
}

// named is what [booktest.Contents] gives, as one set, without the moments of entering.
func named(b *book.Book) (out map[string]bool, err error) {
	t := &failing{}
	defer t.end(&err)
	out = map[string]bool{}
	for table, rows := range booktest.Contents(t, b) {
		for _, row := range rows {
			out[table+": "+masked(row)] = true
		}
	}
	return out, nil
}

// failing is a booktest.T whose failures are an error.
type failing struct{ err error }

func (f *failing) end(err *error) {
	if p := recover(); p == f {
		*err = f.err
	} else if p != nil {
		panic(p)
	}
}

func (*failing) Helper()                             {}
func (f *failing) Errorf(format string, args ...any) { f.Fatal(fmt.Errorf(format, args...)) }
func (f *failing) Fatal(args ...any)                 { f.err = fmt.Errorf("%v", args); panic(f) }

// judge holds what is there against what was before the command and what is there after
// it, and says which of them it is: "before", "after", or of one that goes on partly,
// "between". It is an error where it is none of them. Where the program was killed, whole
// files may be there already, or still.
func (s *scenario) judge(before, after, is *world, killed bool) (string, error) {
	same := map[string]*world{"before": before, "after": after}
	for _, name := range []string{"before", "after"} {
		if w := same[name]; is.rows == w.rows && maps.Equal(is.files, w.files) {
			return name, nil
		}
	}
	state := ""
	switch {
	case is.rows == after.rows && is.rows != before.rows:
		state = "after"
	case is.rows == before.rows && is.rows != after.rows:
		state = "before"
	case s.partly:
		state = "between"
		if err := errors.Join(is.name(), before.name(), after.name()); err != nil {
			return "", err
		}
		if maps.Equal(is.named, after.named) && !maps.Equal(is.named, before.named) { // with other row numbers
			state = "after"
		}
		for row := range before.named {
			if after.named[row] && !is.named[row] {
				return "", fmt.Errorf("row lost: %s", row)
			}
		}
		photos, readings := 0, 0
		for row := range is.named {
			if !before.named[row] && !after.named[row] {
				return "", fmt.Errorf("half a row: %s", row)
			}
			if strings.HasPrefix(row, "photo: ") {
				photos++
			} else if strings.HasPrefix(row, "reading: ") {
				readings++
			}
		}
		if photos != readings {
			return "", fmt.Errorf("%d photos and %d readings", photos, readings)
		}
	case is.rows == before.rows: // the book is not changed by it
		state = "between"
	default:
		return "", fmt.Errorf("neither before nor after:\n%s\n\nagainst after:\n%s", differs(before, is), differs(after, is))
	}
	if !killed && !s.partly {
		return "", fmt.Errorf("the book is as %s, but not its files:\n%s\n\nagainst after:\n%s", state, differs(before, is),
			differs(after, is))
	}
	for name, what := range is.files {
		if before.files[name] != what && after.files[name] != what {
			return "", fmt.Errorf("half a file: %s\n\nagainst after:\n%s\nthe book's rows: %.12s", name, differs(after, is), sum([]byte(is.rows)))
		}
	}
	for name, what := range before.files {
		if after.files[name] == what && is.files[name] != what {
			return "", fmt.Errorf("file lost: %s", name)
		}
		if state == "after" && s.name == "restore" && after.files[name] == "" {
			return "", fmt.Errorf("file lost: %s", name)
		}
	}
	if state == "after" { // what it says is there is there
		for name, what := range after.files {
			if is.files[name] != what {
				return "", fmt.Errorf("the book is as after it, but not %s", name)
			}
		}
	}
	for _, dir := range []string{"out/", "old/"} { // an export is there whole or not at all
		there := s.under(is, dir)
		if n := strings.Count(there, "\n"); n > 0 && there != s.under(before, dir) && there != s.under(after, dir) {
			return "", fmt.Errorf("an export of %d files in %s is neither that of before nor that of after", n, dir)
		}
	}
	return state, nil
}

// under are the files in a folder of the world.
func (*scenario) under(w *world, dir string) string {
	var out strings.Builder
	for _, name := range slices.Sorted(maps.Keys(w.files)) {
		if strings.HasPrefix(name, dir) {
			out.WriteString(name + " " + w.files[name] + "\n")
		}
	}
	return out.String()
}

// differs says in what two worlds differ; empty: in nothing.
func differs(was, is *world) string {
	var out []string
	if was.rows != is.rows {
		a, b := strings.Split(was.rows, "\n"), strings.Split(is.rows, "\n")
		for _, l := range a {
			if !slices.Contains(b, l) {
				out = append(out, "- "+l)
			}
		}
		for _, l := range b {
			if !slices.Contains(a, l) {
				out = append(out, "+ "+l)
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(was.files)) {
		if is.files[name] != was.files[name] {
			out = append(out, "- "+name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(is.files)) {
		if is.files[name] != was.files[name] {
			out = append(out, "+ "+name)
		}
	}
	for i := range out {
		out[i] = out[i][:min(len(out[i]), 200)]
	}
	return strings.Join(out, "\n")
}

// A scenario is one command on the world that prepare makes.
type scenario struct {
	name string
	args []string // "@" begins a path in the world's folder
	// partly: it does several things one after the other, each whole, such as one photo
	// and then the next; what is there may then lie between.
	partly bool
}

// scenarios are commands that write, by what they write.
var scenarios = []scenario{
	{name: "measure", args: []string{"measure", "@in/photos/M-05_1.jpg", "--book", "@garden"}},
	{name: "measure refused", args: []string{"measure", "@in/plain", "--plant", "M-02", "--book", "@garden"}, partly: true},
	{name: "import", args: []string{"import", "@in/plants.csv", "--book", "@garden"}},
	{name: "import photos", args: []string{"import", "@in/export", "--book", "@garden"}},
	{name: "import update", args: []string{"import", "@in/update.csv", "--update", "--book", "@garden"}},
	{name: "sow", args: []string{"sow", "P26-001", "--seeds", "6", "--plants", "4", "--season", "2027", "--book", "@garden"}},
	{name: "backup", args: []string{"backup", "--keep", "1", "--book", "@garden"}, partly: true},
	{name: "backup photos", args: []string{"backup", "@out.db", "--photos", "@copies", "--book", "@garden"}, partly: true},
	{name: "restore", args: []string{"backup", "restore", "@in/earlier.db", "--book", "@garden"}},
	{name: "undo", args: []string{"undo", "--book", "@garden"}},
	{name: "undo measure", args: []string{"undo", "--book", "@garden"}},
	{name: "redo", args: []string{"redo", "--book", "@garden"}},
	{name: "export", args: []string{"export", "@out", "--photos", "--book", "@garden"}},
	{name: "export again", args: []string{"export", "@old", "--force", "--book", "@garden"}},
	{name: "export workbook", args: []string{"export", "--xlsx", "@old.xlsx", "--force", "--book", "@garden"}},
	{name: "note", args: []string{"plants", "note", "M-01", "another note", "--book", "@garden"}},
	{name: "score", args: []string{"score", "M-01..M-03", "form=3", "--book", "@garden"}},
	{name: "plants add", args: []string{"plants", "add", "M-11..M-14", "--line", "buff", "--season", "2026", "--book", "@garden"}},
	{name: "head", args: []string{"head", "M-01-1..2", "harvest", "--seeds", "9", "--on", "2026-08-10", "--book", "@garden"}},
	{name: "target", args: []string{"target", "buff", "--lab", "70,18,30", "--book", "@garden"}},
	{name: "new", args: []string{"new", "@second", "--line", "red", "--season", "2026"}},
}

// placed puts the paths of args into the folder.
func placed(root string, args []string) []string {
	out := slices.Clone(args)
	for i, a := range out {
		if rel, ok := strings.CutPrefix(a, "@"); ok {
			out[i] = filepath.Join(root, filepath.FromSlash(rel))
		}
	}
	return out
}

// runAt runs the program within this one, on the world in root.
func runAt(root string, args ...string) (status int, stderr string) {
	status, _, stderr = ran(nil, placed(root, args)...)
	return status, stderr
}

// plainPNG is a small picture of nothing.
func plainPNG(t must.T, i int) []byte {
	t.Helper()
	im := image.NewGray(image.Rect(0, 0, 32, 32))
	for k := range im.Pix {
		im.Pix[k] = uint8(90 + k%20 + i)
	}
	var b bytes.Buffer
	must.OK(t, png.Encode(&b, im))
	return b.Bytes()
}

// model is the world of the scenarios, made once and only to be copied.
var model = sync.OnceValues(func() (root string, err error) {
	t := &failing{}
	defer t.end(&err)
	root = must.Have(os.MkdirTemp("", "model-"))(t)
	at := func(parts ...string) string { return filepath.Join(append([]string{root}, parts...)...) }
	file := func(name string, text []byte) {
		must.OK(t, os.MkdirAll(filepath.Dir(name), 0o777))
		must.OK(t, os.WriteFile(name, text, 0o666))
	}
	do := func(status int, args ...string) {
		t.Helper()
		if got, errs := runAt(root, args...); got != status {
			t.Fatal(fmt.Sprintf("hueward %q: exit status %d, want %d\n%s", args, got, status, errs))
		}
	}
	for i, name := range []string{"first/M-01_1.jpg", "photos/M-05_1.jpg", "photos/M-06_1.jpg"} {
		s, info, err := sceneOf([]string{"size=320,240", fmt.Sprintf("seed=%d", i)})
		if err == nil {
			_, err = drawFile(at("in", filepath.FromSlash(name)), s, info)
		}
		must.OK(t, err)
	}
	for i := range 2 { // without a card and a bloom: refused at once, and kept
		file(at("in", "plain", fmt.Sprintf("%d.png", i)), plainPNG(t, i))
	}
	in := func(args ...string) { t.Helper(); do(statusDone, append(args, "--book", "@garden")...) }
	do(statusDone, "new", "@garden", "--line", "buff", "--season", "2026")
	in("target", "buff", "--lab", "76,16,34")
	in("plants", "add", "M-01..M-04", "--season", "2026")
	in("measure", "@in/first")
	in("backup", "@in/earlier.db")
	in("cross", "M-01", "M-02", "--heads", "3", "--on", "2026-07-10")
	in("packet", "make", "--bought", "Orange Single", "--seeds", "50", "--on", "2026-08-12")
	in("score", "M-01", "form=4")
	in("backup")
	for i := range 3 { // of earlier months, so that one goes
		name := fmt.Sprintf("book-2020-01-0%dT000000Z.db", i+1)
		text := must.Have(os.ReadFile(at("in", "earlier.db")))(t)
		file(at("garden", "backups", name), text)
	}
	in("export", "@old")
	in("export", "--xlsx", "@old.xlsx")
	var csv, update strings.Builder
	csv.WriteString("plant,line,season,seed_parent,pollen_parent,note\n")
	update.WriteString("plant,note\n")
	for i := range 40 {
		fmt.Fprintf(&csv, "T-%d,buff,2026,M-01,M-02,plant %d\n", i, i)
	}
	for i := range 4 {
		fmt.Fprintf(&update, "M-0%d,seen again\n", i+1)
	}
	file(at("in", "plants.csv"), []byte(csv.String()))
	file(at("in", "update.csv"), []byte(update.String()))
	// A book of another's, exported with its photos.
	do(statusDone, "new", "@in/other", "--line", "white", "--season", "2026")
	do(statusDone, "measure", "@in/photos", "--book", "@in/other")
	do(statusDone, "export", "@in/export", "--photos", "--book", "@in/other")
	in("plants", "note", "M-01", "the last thing done")
	return root, nil
})

// before does what stands before a scenario's own command.
func (s *scenario) before(t must.T, root string) {
	t.Helper()
	var args []string
	switch s.name {
	case "redo":
		args = []string{"undo", "--book", "@garden"}
	case "undo measure":
		args = []string{"measure", "@in/plain", "--plant", "M-02", "--book", "@garden"}
	default:
		return
	}
	if got, errs := runAt(root, args...); got == statusFailed || got == statusUsage {
		t.Fatal(fmt.Sprintf("hueward %q: exit status %d\n%s", args, got, errs))
	}
}
