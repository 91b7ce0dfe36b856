package book_test

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

func TestCreateOpenFind(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	// Characters that mean something in a URI or to a shell must not matter.
	dir := filepath.Join(t.TempDir(), "Grandma's garden #1, 50% & more?", "2026 book")
	b := must.Have(Create(ctx, dir, booktest.Clock))(t)
	must.OK(t, b.AddLine(ctx, "marigold", "by the wall"))
	must.OK(t, b.Close())
	b = must.Have(Open(ctx, dir, booktest.Clock))(t)
	defer b.Close()
	lines := must.Have(b.Lines(ctx))(t)
	booktest.Same(t, "lines", []Line{{Name: "marigold", Note: "by the wall"}}, lines)
	deep := filepath.Join(dir, "photos", "2026", "M-7")
	must.OK(t, os.MkdirAll(deep, 0o777))
	if got, err := Find(deep); err != nil || got != dir {
		t.Errorf("Find(%q) = %q, %v, want %q", deep, got, err, dir)
	}
	if got, err := Find(t.TempDir()); !errors.Is(err, ErrNoBook) {
		t.Errorf("Find outside of a book = %q, %v, want ErrNoBook", got, err)
	}
}

func TestCreateRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	t.Run("a book", func(t *testing.T) {
		b := booktest.New(t)
		if _, err := Create(ctx, b.Dir(), nil); !errors.Is(err, ErrExists) {
			t.Errorf("Create = %v, want ErrExists", err)
		}
	})
	t.Run("other things", func(t *testing.T) {
		dir := t.TempDir()
		os.WriteFile(filepath.Join(dir, "note.txt"), []byte("mine"), 0o644)
		if _, err := Create(ctx, dir, nil); !errors.Is(err, ErrNotEmpty) {
			t.Errorf("Create = %v, want ErrNotEmpty", err)
		}
		booktest.Same(t, "the folder changed", []string{"note.txt"}, booktest.Tree(t, dir))
	})
	t.Run("a file in the way", func(t *testing.T) {
		dir := t.TempDir()
		os.WriteFile(filepath.Join(dir, "a"), nil, 0o644)
		if _, err := Create(ctx, filepath.Join(dir, "a", "b", "c"), nil); err == nil {
			t.Error("Create below a file succeeds")
		}
		booktest.Same(t, "the folder changed", []string{"a"}, booktest.Tree(t, dir))
	})
	t.Run("nothing half made", func(t *testing.T) {
		dir := t.TempDir()
		done, cancel := context.WithCancel(ctx)
		cancel()
		if _, err := Create(done, filepath.Join(dir, "x", "y"), nil); !errors.Is(err, context.Canceled) {
			t.Errorf("Create = %v, want context.Canceled", err)
		}
		if got := booktest.Tree(t, dir); len(got) > 0 {
			t.Errorf("left behind: %q", got)
		}
	})
}

func TestOpenRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	foreign := func(t *testing.T, file string) {
		db := must.Have(sql.Open("sqlite", file))(t)
		defer db.Close()
		must.Have(db.Exec("CREATE TABLE song (title)"))(t)
	}
	change := func(f func([]byte) []byte) func(*testing.T, string) {
		return func(t *testing.T, file string) {
			b := must.Have(os.ReadFile("testdata/v1/book.db"))(t)
			must.OK(t, os.WriteFile(file, f(b), 0o644))
		}
	}
	for _, c := range []struct {
		name string
		make func(*testing.T, string)
		want error
	}{
		{"nothing there", func(*testing.T, string) {}, ErrNoBook},
		{"another program's database", foreign, ErrNotBook},
		{"a text", change(func([]byte) []byte { return []byte(strings.Repeat("dear diary ", 50)) }), ErrNotBook},
		{"empty", change(func([]byte) []byte { return nil }), ErrDamaged},
		{"cut in the header", change(func(b []byte) []byte { return b[:60] }), ErrDamaged},
		{"cut in half", change(func(b []byte) []byte { return b[:len(b)/2] }), ErrDamaged},
		{"a wiped schema", change(func(b []byte) []byte {
			clear(b[100:4096])
			return b
		}), ErrDamaged},
		{"newer", func(t *testing.T, file string) {
			change(func(b []byte) []byte { return b })(t, file)
			db := must.Have(sql.Open("sqlite", file))(t)
			defer db.Close()
			must.Have(db.Exec("PRAGMA user_version = 99"))(t)
		}, ErrNewer},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			file := filepath.Join(dir, "book.db")
			c.make(t, file)
			before, _ := os.ReadFile(file)
			b, err := Open(ctx, dir, nil)
			if !errors.Is(err, c.want) {
				t.Errorf("Open = %v, want %v", err, c.want)
			}
			if b != nil {
				b.Close()
			}
			if after, _ := os.ReadFile(file); string(before) != string(after) {
				t.Errorf("opening it changed the file")
			}
			if err != nil && strings.Contains(err.Error(), "\n") {
				t.Errorf("the error is not one line: %q", err)
			}
		})
	}
}

// Damage that the header does not show is named when it is met.
func TestDamagedPages(t *testing.T) {
	t.Parallel()
	dir := booktest.CopyDir(t, "testdata/v1")
	file := filepath.Join(dir, "book.db")
	data := must.Have(os.ReadFile(file))(t)
	for i := 4096; i < len(data); i++ { // every page but the schema's
		data[i] = 0xa5
	}
	must.OK(t, os.WriteFile(file, data, 0o644))
	b, err := Open(context.Background(), dir, booktest.Clock)
	if err == nil {
		defer b.Close()
		_, err = b.Readings(context.Background(), "", "")
	}
	if !errors.Is(err, ErrDamaged) {
		t.Errorf("reading a damaged book gives %v, want ErrDamaged", err)
	}
}

// Pragmas hold on every connection of the pool, not only the first.
func TestPragmas(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	ctx := context.Background()
	for i := range 4 {
		c := must.Have(b.DB().Conn(ctx))(t)
		defer c.Close()
		for pragma, want := range map[string]string{"foreign_keys": "1", "journal_mode": "wal", "busy_timeout": "15000", "synchronous": "2"} {
			var got string
			if err := c.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
				t.Errorf("connection %d: %s = %q, %v, want %q", i, pragma, got, err, want)
			}
		}
	}
}

// A program that reads need not wait for one that is in the middle of writing.
func TestOpenWhileWriting(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	ctx := context.Background()
	must.OK(t, b.AddLine(ctx, "marigold", ""))
	must.OK(t, b.Write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec("UPDATE line SET note = 'half written'"); err != nil {
			return err
		}
		other, err := Open(ctx, b.Dir(), booktest.Clock)
		if err != nil {
			return err
		}
		defer other.Close()
		line, err := other.Line(ctx, "marigold")
		if err != nil {
			return err
		}
		if line.Note != "" {
			t.Errorf("another program sees what is not committed: %q", line.Note)
		}
		return nil
	}))
}
