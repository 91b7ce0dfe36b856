package book_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/safety"
	"hueward/selection/book/sqlite"
)

// A text that is not as it was written is told in a line of our own; before, with the words
// of the library that could not read it. Where the row is lost that says which change is
// being made, what is entered can be taken back all the same.
func TestDamagedTexts(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	b := booktest.Filled(t)
	booktest.Record(t, b, "M-1", "a.jpg", "a photo")
	must.OK(t, b.AddTrait(ctx, Trait{Name: "scent"}))
	db := booktest.DB(t, b)
	db.SetMaxOpenConns(1)
	for _, stmt := range []string{"PRAGMA ignore_check_constraints = 1", "UPDATE reading SET flags = '[{'",
		"UPDATE trait SET words = '{}'", "DELETE FROM change_now"} {
		must.Have(db.Exec(stmt))(t)
	}
	_, err1 := b.Readings(ctx, "", "")
	_, err2 := b.Traits(ctx)
	for _, err := range []error{err1, err2} {
		if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "is not as it was entered; look at the whole book") {
			t.Errorf("read: %v", err)
		}
	}
	for range 2 {
		must.OK(t, b.OneCommand().SetNote(ctx, "M-1", "noted"))
		if c, older, err := b.ToUndo(ctx); err != nil || older || c.What != "note on M-1" {
			t.Errorf("to undo: %+v, %v, %v", c, older, err)
		}
		if _, err := b.Undo(ctx, 0); err != nil {
			t.Error(err)
		}
	}
}

// A book that came from elsewhere is refused in one line where it is not what a book
// of its version is.
func TestReceivedBooks(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		stmts string
		err   error
		want  string
	}{
		"a version below nothing":  {"PRAGMA user_version = -3", ErrNotBook, "of version -3"},
		"no version":               {"PRAGMA user_version = 0", ErrNotBook, "of version 0"},
		"older without its tables": {"PRAGMA user_version = 1; DROP TABLE reading", ErrDamaged, `no table "reading"`},
		"a table without a column": {"ALTER TABLE plant RENAME COLUMN note TO remark", ErrDamaged, ""},
		"another's trigger":        {"CREATE TRIGGER spy AFTER INSERT ON plant BEGIN DELETE FROM photo; END", ErrNotBook, `trigger "spy"`},
		"another's view":           {"CREATE VIEW v AS SELECT * FROM plant", ErrNotBook, `view "v"`},
		"a trigger of ours, altered": {"DROP TRIGGER plant_added; CREATE TRIGGER plant_added AFTER INSERT ON plant BEGIN DELETE FROM photo; " +
			"END", ErrNotBook, `trigger "plant_added"`},
		"a trigger of ours, gone":     {"DROP TRIGGER plant_added", ErrDamaged, `no trigger "plant_added"`},
		"another program's, in truth": {"PRAGMA writable_schema = 1; DELETE FROM sqlite_schema; CREATE TABLE song (title)", ErrDamaged, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := booktest.Filled(t)
			dir := b.Dir()
			db := booktest.DB(t, b)
			must.Have(db.Exec(c.stmts))(t)
			b.Close()
			db.Close()
			got, err := Open(t.Context(), dir, booktest.Clock)
			if err == nil {
				got.Close()
			}
			if !errors.Is(err, c.err) || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("opened: %v, want %v and %q", err, c.err, c.want)
			}
			file := filepath.Join(t.TempDir(), "received.db")
			must.OK(t, os.Rename(filepath.Join(dir, DBName), file))
			other := booktest.New(t)
			other.Close()
			if _, err := safety.Restore(t.Context(), other.Dir(), file, booktest.Noon); !errors.Is(err, c.err) {
				t.Errorf("restored: %v, want %v", err, c.err)
			}
		})
	}
}

// A table of the grower's own in the book does no harm.
func TestOwnTable(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	must.Have(booktest.DB(t, b).Exec("CREATE TABLE mine (x); CREATE INDEX mine_x ON mine (x)"))(t)
	b.Close()
	booktest.Open(t, b.Dir())
}

// What a photo's path says leaves the book's folder nowhere.
func TestPathsStayInside(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	for _, path := range []string{"photos/../../x.jpg", "/etc/passwd", "../x.jpg", "photos", "backups/x.db", `photos/..\..\x.jpg`,
		"photos/./x"} {
		if got := b.PhotoFile(Photo{Path: path}); got != "" {
			t.Errorf("PhotoFile(%q) = %s, want nowhere", path, got)
		}
	}
	must.Have(booktest.DB(t, b).Exec("UPDATE season SET name = '../../../outside'"))(t)
	_, err := b.Record(t.Context(), Entry{File: booktest.WriteFile(t, "a.jpg", "a"), Season: "2026", Plant: "M-1",
		Reading: booktest.Reading("a")})
	if err == nil {
		t.Error("a photo was kept outside")
	}
}

// A book's file, altered at will, is a book that can be read, or refused; it is never
// the end of the program.
func FuzzBookFile(f *testing.F) {
	b := booktest.Filled(f)
	must.OK(f, sqlite.CopyTo(f.Context(), b.DB(), filepath.Join(b.Dir(), "sound.db")))
	sound := must.Have(os.ReadFile(filepath.Join(b.Dir(), "sound.db")))(f)
	f.Add(uint32(60), []byte{0xff, 0xff, 0xff, 0xfd})
	f.Add(uint32(16), []byte{0, 0})
	f.Add(uint32(len(sound)/2), []byte{0xa5, 0xa5, 0xa5})
	f.Add(uint32(8192*3+8), []byte{0x0d})
	f.Add(uint32(28), []byte{0x7f, 0xff, 0xff, 0xff})
	f.Fuzz(func(t *testing.T, at uint32, with []byte) {
		dir := t.TempDir()
		text := append([]byte{}, sound...)
		copy(text[int(at)%len(text):], with)
		must.OK(t, os.WriteFile(filepath.Join(dir, DBName), text, 0o666))
		oneLine := func(err error) {
			if err != nil && strings.Contains(err.Error(), "\n") {
				t.Errorf("%q has several lines", err)
			}
		}
		b, err := Open(t.Context(), dir, booktest.Clock)
		oneLine(err)
		if err != nil {
			return
		}
		defer b.Close()
		for _, read := range []func() error{
			func() error { _, err := b.Plants(t.Context(), PlantFilter{}); return err },
			func() error { _, err := b.Readings(t.Context(), "", ""); return err },
			func() error { _, err := b.Lines(t.Context()); return err },
			func() error { _, err := b.CameraModels(t.Context()); return err },
			func() error { _, err := b.History(t.Context(), 0); return err },
			func() error { _, err := safety.Check(t.Context(), b, nil); return err },
			func() error { return b.SetNote(t.Context(), "M-1", "x") },
			func() error { _, err := b.Undo(t.Context(), 0); return err },
		} {
			oneLine(read())
		}
	})
}

// Whatever the history says was before, taking it back is done whole or refused.
func FuzzUndo(f *testing.F) {
	f.Add("plant", int64(1), `{"id":1,"note":"before"}`)
	f.Add("plant", int64(1), `{"id":1,"note":{"x":[1]}}`)
	f.Add("plant\" SET note = 'x' --", int64(1), `{}`)
	f.Add("change", int64(1), `{"id":1,"what":"other"}`)
	f.Add("plant", int64(1), `{"note\" = 'x', \"name":"y"}`)
	f.Add("season", int64(1), `null`)
	f.Add("reading", int64(9e15), ``)
	from := booktest.Filled(f)
	must.OK(f, from.SetNote(f.Context(), "M-1", "now"))
	from.Close()
	f.Fuzz(func(t *testing.T, table string, row int64, before string) {
		b := booktest.Open(t, booktest.CopyDir(t, from.Dir()))
		db := booktest.DB(t, b)
		if _, err := db.Exec("UPDATE changed_row SET tbl = ?, row = ?, before = ? WHERE id = (SELECT max(id) FROM changed_row)", table, row,
			before); err != nil {
			return // not text that a book can hold
		}
		rows := booktest.Rows(t, b)
		if _, err := b.Undo(t.Context(), 0); err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("%q has several lines", err)
			}
			for table, was := range booktest.Rows(t, b) {
				if strings.Join(was, "\n") != strings.Join(rows[table], "\n") {
					t.Errorf("refused (%v), yet %s changed", err, table)
				}
			}
		}
	})
}

// Whatever is typed as a range is plants of the book, or refused.
func FuzzRange(f *testing.F) {
	b := booktest.Filled(f)
	for _, s := range []string{"M-1..M-2", "M-1", "M-2..M-1", "..", "M-1..", "M-1..M-99999999999999999999", "26-001A..26-009", "é-1..é-2",
		"M-1..2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		if got, err := b.Which(t.Context(), []string{typed}); (err == nil) != (len(got) > 0) {
			t.Errorf("Which(%q) = %q, %v", typed, got, err)
		}
		if _, err := b.HeadNames(t.Context(), []string{typed}); err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("HeadNames(%q): %q has several lines", typed, err)
		}
	})
}
