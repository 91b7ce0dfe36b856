package safety

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/disk"
)

// One flipped bit in a number passes SQLite's own check; not ours, in a new book nor in
// one that was brought up to date.
func TestFlippedBit(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		old        bool
		stmt, want string
	}{
		"L*":        {false, "UPDATE reading SET l = 68.5 WHERE id = 1", "reading 1 is not what was measured"},
		"its photo": {false, "UPDATE reading SET photo_id = 2 WHERE id = 1", "reading 1 is not what was measured"},
		"by an instrument": {false, "UPDATE reading SET precision_de = 0.30000000000000004 WHERE id = 3",
			"reading 3 is not what was measured"},
		"a change's words":     {false, "UPDATE change SET what = 'M-1: lost' WHERE id = 2", "change 2 is not what was entered"},
		"what was before":      {false, "UPDATE changed_row SET row = 7 WHERE id = 1", "change 1 is not what was entered"},
		"of a book brought up": {true, "UPDATE reading SET b = b + 1 WHERE id = 2", "reading 2 is not what was measured"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := booktest.Filled(t)
			if c.old {
				b = booktest.Open(t, booktest.CopyDir(t, filepath.Join("..", "testdata", "v3")))
			}
			if found, err := Check(t.Context(), b, nil); err != nil || len(found) > 0 {
				t.Fatalf("a sound book: %v, %v", found, err)
			}
			must.Have(booktest.DB(t, b).Exec(c.stmt))(t)
			found, err := Check(t.Context(), b, nil)
			if err != nil || len(found) != 1 || !found[0].Harmful || !strings.Contains(found[0].What, c.want) {
				t.Errorf("check found %+v, %v; want %q", found, err, c.want)
			}
			if _, err := Backup(t.Context(), b, filepath.Join(t.TempDir(), "x.db")); !errors.Is(err, book.ErrDamaged) {
				t.Errorf("backed up: %v, want ErrDamaged", err)
			}
			b.Close()
			file := filepath.Join(t.TempDir(), "flipped.db")
			for _, ending := range []string{"", "-wal"} {
				if from := filepath.Join(b.Dir(), book.DBName) + ending; disk.Exists(from) {
					must.OK(t, disk.Copy(t.Context(), from, file+ending))
				}
			}
			other := booktest.New(t)
			other.Close()
			if _, err := Restore(t.Context(), other.Dir(), file, booktest.Noon); !errors.Is(err, book.ErrDamaged) {
				t.Errorf("restored: %v, want ErrDamaged", err)
			}
		})
	}
}

// A bit that flips in a name's key, in a day or in whose genes a plant has is found, too,
// in tables whose rows have no sum.
func TestCheckRows(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ stmt, want string }{
		{"UPDATE plant SET key = 'm-0' WHERE name = 'M-1'", `plant M-1: is not found by its name, but by "m-0"`},
		{"UPDATE line SET name = 'marigolf' WHERE name = 'marigold'", "line marigolf: is not found by its name"},
		{"UPDATE head SET bagged_on = '2026-17-11'", `bagged on, "2026-17-11", is not a day`},
		{"UPDATE plant SET clone_of_id = id WHERE name = 'M-1'", "plant M-1: has the genes of M-1, which has those of another"},
	} {
		b := booktest.Filled(t)
		if _, _, err := b.AddCross(t.Context(), book.Cross{SeedParent: "M-1", Kind: book.KindSelf, Season: "2026"}, 1); err != nil {
			t.Fatal(err)
		}
		if found, err := Check(t.Context(), b, nil); err != nil || len(found) > 0 {
			t.Fatalf("a sound book: %v, %v", found, err)
		}
		must.Have(booktest.DB(t, b).Exec(c.stmt))(t)
		found, err := Check(t.Context(), b, nil)
		if err != nil || len(found) != 1 || !strings.Contains(found[0].Where+": "+found[0].What, c.want) || !found[0].Harmful {
			t.Errorf("%s: found %v, %v; want %q", c.stmt, found, err, c.want)
		}
	}
}
