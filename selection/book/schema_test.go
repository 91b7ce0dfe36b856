package book_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/sqlite"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg"
)

var update = flag.Bool("update", false, "rewrite the golden files in testdata")

// schema is the database's own text of its tables, indexes and views.
func schema(t testing.TB, b *Book) string {
	t.Helper()
	rows := must.Have(b.DB().Query("SELECT type || ' ' || name || char(10) || coalesce(sql, '') FROM sqlite_schema ORDER BY type, name"))(t)
	defer rows.Close()
	var out strings.Builder
	for rows.Next() {
		var s string
		must.OK(t, rows.Scan(&s))
		out.WriteString(s + "\n\n")
	}
	return out.String()
}

// Every earlier version's book opens, is brought up to the same schema as a
// new one, and holds what it held.
func TestMigrate(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for n := range sqlite.Versions() {
		version := fmt.Sprintf("v%d", n+1)
		t.Run(version, func(t *testing.T) {
			b := must.Have(Open(ctx, booktest.CopyDir(t, filepath.Join("testdata", version)), booktest.Clock))(t)
			defer b.Close()
			booktest.Same(t, "schema after migration", schema(t, booktest.New(t)), schema(t, b))
			if found, err := b.Integrity(ctx); err != nil || len(found) > 0 {
				t.Errorf("after migration: %q, %v", found, err)
			}
			rs := must.Have(b.Readings(ctx, "marigold", "2026"))(t)
			if len(rs) != 3 {
				t.Fatalf("%d readings, want 3", len(rs))
			}
			want := *booktest.Reading("first bloom")
			want.File, want.SHA256 = rs[0].Photo.Path, rs[0].Photo.SHA256
			plant := "M-1"
			want.Plant = &plant
			c := want.Lab.Lab().LCh()
			want.LCh = &colorimg.Triple{c.L, c.C, c.H}
			models := must.Have(b.CameraModels(ctx))(t)
			wantModels := []CameraModel{}
			if version == "v1" { // what it could not hold yet
				want.Model, want.Card.Kind, want.Radial, want.Zones, want.Tag = "", "grey", []colorimg.Ring{}, []colorimg.Zone{}, colorimg.TagRead{}
				want.Petal.DiameterPixels, want.Petal.DiameterMM = 0, 0
			} else {
				wantModels = append(wantModels, booktest.Phone)
			}
			booktest.Same(t, "camera models", wantModels, models)
			booktest.Same(t, "first reading", want, rs[0].Measured)
			if !booktest.SameFile(t, b.PhotoFile(*rs[0].Photo), booktest.WriteFile(t, "x", "first bloom")) {
				t.Error("its photo is not what it was")
			}
			line, err := b.Line(ctx, "marigold")
			if err != nil || line.Target == nil || line.Target.Within != 3 || line.Plants != 2 {
				t.Errorf("line = %+v, %v, want a target within 3 and 2 plants", line, err)
			}
		})
	}
}

// TestMakeOldBook makes the small book of the newest version, with -update
// and only when there is none: the books of earlier versions stay as they are. A new
// migration is so always tried on a book that was kept before it.
func TestMakeOldBook(t *testing.T) {
	dir := filepath.Join("testdata", fmt.Sprintf("v%d", sqlite.Versions()))
	if _, err := os.Stat(filepath.Join(dir, "book.db")); err == nil || !*update {
		if err != nil {
			t.Errorf("%v; make it with go test ./selection/book -run TestMakeOldBook -update", err)
		}
		return
	}
	b := booktest.Filled(t)
	from := b.Dir()
	b.Close()
	must.OK(t, os.CopyFS(dir, os.DirFS(from)))
	os.RemoveAll(filepath.Join(dir, "photos", ".incoming"))
	os.Remove(filepath.Join(dir, BackupsFolder)) // empty, which git does not keep
}

// Another program's view of the book: the sqlite3 command finds it sound and
// reads the readings that count.
func TestSQLiteCommand(t *testing.T) {
	t.Parallel()
	sqlite3, err := exec.LookPath("sqlite3")
	if err != nil {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatal("the sqlite3 command is needed: install sqlite3")
		}
		t.Skip("needs the sqlite3 command")
	}
	b := booktest.Filled(t)
	out, err := exec.Command(sqlite3, filepath.Join(b.Dir(), "book.db"),
		"PRAGMA integrity_check; PRAGMA foreign_key_check; SELECT plant, line, season, source, status, l, a, b FROM counting_reading ORDER "+
			"BY reading_id").CombinedOutput()
	want := `ok
M-1|marigold|2026|photo|ok|74.2|18.5|36.1
M-2|marigold|2026|photo|ok|74.2|18.5|36.1
M-2|marigold|2026|colorimeter|ok|76.0|16.0|34.0
`
	if d := cmp.Diff(want, string(out)); d != "" || err != nil {
		t.Errorf("sqlite3: %v (-want +got):\n%s", err, d)
	}
}
