package transfer

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/selection/book/booktest"

	"github.com/google/go-cmp/cmp"
)

// Every column of every table is in some table of the export, so that a new one
// cannot be left out.
func TestEveryColumnIsExported(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	byHand := map[string]bool{ // in lists of other tables
		"pollination.head_id": true, "pollination.day": true, "pollination.note": true,
		"packet_head.packet_id": true, "packet_head.head_id": true,
		"reading.sum": true, // follows from the others
	}
	columns := booktest.ColumnsOfAll(t, booktest.DB(t, b))
	for _, table := range booktest.Tables(t, booktest.DB(t, b)) {
		i := slices.IndexFunc(kinds, func(k *tableKind) bool { return k.table == table })
		for _, c := range columns[table] {
			if c == "id" || c == "key" || byHand[table+"."+c] {
				continue
			}
			if i < 0 || !slices.ContainsFunc(kinds[i].columns, func(k kindColumn) bool { return k.sql == c }) {
				t.Errorf("%s.%s is not exported: give it a column in kind.go", table, c)
			}
		}
	}
}

// csvFiles are the tables in a folder.
func csvFiles(t testing.TB, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no tables in %s (%v)", dir, err)
	}
	return slices.DeleteFunc(files, func(f string) bool { return filepath.Base(f) == ManifestName })
}

// A whole book goes out and comes back the same; coming back twice adds nothing;
// and it is undone to nothing. At the size of twenty seasons with HUEWARD_FULL=1.
func TestRoundTrip(t *testing.T) {
	t.Parallel()
	z := small
	if os.Getenv("HUEWARD_FULL") == "1" {
		z = size{full.seasons, full.plants / 4, full.readings / 4, false}
	}
	ctx := context.Background()
	b := booktest.New(t)
	makeBook(t, b, z)
	want := booktest.Contents(t, b)
	for _, table := range booktest.Tables(t, booktest.DB(t, b)) {
		if len(want[table]) == 0 {
			t.Errorf("the made-up book has nothing in table %s", table)
		}
	}
	dir := filepath.Join(t.TempDir(), "out")
	start := time.Now()
	must.Have(ExportDir(ctx, b, dir, false, false))(t)
	t.Logf("exported in %v", time.Since(start))

	c := booktest.New(t)
	empty := booktest.Contents(t, c)
	start = time.Now()
	got := must.Have(Import(ctx, c, csvFiles(t, dir), nil))(t)
	rows := 0
	for _, f := range got.Tables {
		rows += f.Added
	}
	took := time.Since(start)
	t.Logf("%d rows imported in %v: %.0f a second", rows, took, float64(rows)/took.Seconds())
	if d := cmp.Diff(want, booktest.Contents(t, c)); d != "" {
		t.Fatalf("exported, then imported (-before +after):\n%.4000s", d)
	}
	if problems := booktest.Column(t, booktest.DB(t, c), "SELECT 'x' FROM pragma_foreign_key_check UNION ALL SELECT integrity_check "+
		"FROM pragma_integrity_check WHERE integrity_check <> 'ok'"); len(problems) > 0 {
		t.Errorf("%d references lead nowhere, or the database is damaged", len(problems))
	}

	start = time.Now()
	again := must.Have(Import(ctx, c, csvFiles(t, dir), nil))(t)
	t.Logf("imported again in %v", time.Since(start))
	for _, f := range again.Tables {
		if f.Added+f.Updated > 0 {
			t.Errorf("imported again: %d added, %d changed of %s", f.Added, f.Updated, f.Kind)
		}
	}
	booktest.Same(t, "imported again", want, booktest.Contents(t, c))

	start = time.Now()
	change := must.Have(c.Undo(ctx, 0))(t)
	t.Logf("undone in %v", time.Since(start))
	if !strings.HasPrefix(change.What, "imported ") || change.Rows < rows {
		t.Errorf("undone: %q of %d rows, want an import of %d or more", change.What, change.Rows, rows)
	}
	booktest.Same(t, "imported and undone", empty, booktest.Contents(t, c))
	must.Have(Import(ctx, c, csvFiles(t, dir), nil))(t)
	booktest.Same(t, "imported after undoing", want, booktest.Contents(t, c))
}
