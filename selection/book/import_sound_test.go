package book

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What the import lets through of a sound kind, the database would, too: every cell
// of a photo's row and of two readings is replaced by what might be mistaken for it.
func TestSoundKinds(t *testing.T) {
	ctx := context.Background()
	b, dir := madeAndExported(t, size{3, 60, 60, false})
	cells := []string{
		"", " ", "x", "0", "1", "2", "-1", "0.5", "1e308", "yes", "no", "photo", "PHOTO", "ok", "check", "refused", "2026-07-04", "2026-07-04T12:00:00Z",
		"null", "true", `""`, `"x"`, "[]", "{}", "[1]", "[[1,2]]", `[{"a":1}]`, `{"a":[]}`, `["\ud800"]`, "[1,]", "[01]", "{'a':1}", "[1] x", "\ufeff[]",
		`{"a":` + strings.Repeat("[", 1200) + strings.Repeat("]", 1200) + "}", `"M1 2h3z"`, `"M1 2"`,
		strings.Repeat("a", 64), "photos/x.jpg", "Photos/x.jpg", "photos/",
	}
	taken, refused := 0, 0
	for _, k := range kinds {
		if !k.sound {
			continue
		}
		s := readSheet(t, filepath.Join(dir, k.Name+".csv"))
		file := filepath.Join(t.TempDir(), "t.csv")
		for row := 1; row < 3; row++ { // of the readings one by an instrument and one of a photo
			one := &sheet{k, [][]string{s.rows[0], s.rows[row]}}
			for _, column := range s.rows[0] {
				for _, cell := range cells {
					if err := os.WriteFile(file, []byte(one.with(1, column, cell).String()), 0o666); err != nil {
						t.Fatal(err)
					}
					_, err := b.Import(ctx, []string{file}, &ImportOptions{As: k.Name, Update: true, DryRun: true, checked: true})
					var wrong *ImportError
					switch {
					case err == nil:
						taken++
					case errors.As(err, &wrong):
						refused++
					default:
						t.Errorf("%s, line %d, %s = %.80q: %v", k.Name, row+1, column, cell, err)
					}
				}
			}
		}
	}
	if taken < 500 || refused < 500 {
		t.Errorf("%d tables taken and %d refused, want 500 of each or more", taken, refused)
	}
}

// A book whose rows name others that are not there takes nothing in before that is
// put right.
func TestImportIntoBroken(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	fill(t, b)
	before := contents(t, b)
	db, err := openBulk(filepath.Join(b.dir, dbName))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("INSERT INTO target (line_id, aim, l, a, b, within, set_at) VALUES (999, 'move', 1, 2, 3, 4, '2026-07-04T12:00:00Z')"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	_, err = b.Import(ctx, []string{writeFile(t, "plants.csv", "plant,line,season\nNEW-1,marigold,2026\n")}, nil)
	if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "row 2 of target names a line that is not there") {
		t.Errorf("Import = %v, want a row of target that names a line that is not there", err)
	}
	if got := contents(t, b)["plant"]; len(got) != len(before["plant"]) {
		t.Errorf("%d plants afterwards, want %d", len(got), len(before["plant"]))
	}
}

// A new book has the page size that was chosen, and its journal is a write-ahead
// log: SQLite settles the one no more once the other is set.
func TestPageSize(t *testing.T) {
	b := newBook(t)
	var size int
	var journal string
	if err := b.db.QueryRow("SELECT page_size, journal_mode FROM pragma_page_size, pragma_journal_mode").Scan(&size, &journal); err != nil {
		t.Fatal(err)
	}
	if size != pageSize || journal != "wal" {
		t.Errorf("pages of %d bytes, journal %s; want %d, wal", size, journal, pageSize)
	}
}
