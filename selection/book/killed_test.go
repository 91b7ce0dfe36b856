package book_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// A program killed while it writes the -wal file's pages back leaves a file whose
// header already tells its new, larger size. Nothing is lost: SQLite writes them back
// again.
func TestOpenAfterKilledCheckpoint(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	b.DB().SetMaxOpenConns(1)
	exec := func(stmt string) {
		must.Have(b.DB().Exec(stmt))(t)
	}
	read := func(name string) []byte {
		v := must.Have(os.ReadFile(filepath.Join(b.Dir(), name)))(t)
		return v
	}
	exec("PRAGMA wal_checkpoint(TRUNCATE)")
	exec("PRAGMA wal_autocheckpoint = 0")
	before := read(DBName)
	note := strings.Repeat("long ", 20_000)
	must.OK(t, b.SetNote(ctx, "M-1", note))
	wal := read(DBName + "-wal")
	exec("PRAGMA wal_checkpoint(FULL)")
	after := read(DBName)
	if len(after) <= len(before) {
		t.Fatalf("the note fits into the file of %d bytes; make it longer", len(before))
	}
	const page = 4096
	dir := t.TempDir()
	for name, content := range map[string][]byte{DBName: append(after[:page:page], before[page:]...), DBName + "-wal": wal} {
		must.OK(t, os.WriteFile(filepath.Join(dir, name), content, 0o644))
	}
	c := must.Have(Open(ctx, dir, booktest.Clock))(t)
	defer c.Close()
	if p, err := c.Plant(ctx, "M-1"); err != nil || p.Note != note {
		t.Errorf("the note has %d characters, want %d (%v)", len(p.Note), len(note), err)
	}
}

// What a program left that was killed while it started a book is in nobody's way; what a
// grower put there is.
func TestCreateAfterKilled(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "garden")
	for _, d := range []string{"photos", BackupsFolder} {
		must.OK(t, os.MkdirAll(filepath.Join(dir, d), 0o777))
	}
	photo := filepath.Join(dir, "photos", "mine.jpg")
	for _, f := range []string{filepath.Join(dir, DBName+".new"), photo} {
		must.OK(t, os.WriteFile(f, []byte("half"), 0o644))
	}
	if _, err := Create(t.Context(), dir, booktest.Clock); !errors.Is(err, ErrNotEmpty) {
		t.Errorf("beside a photo: %v, want ErrNotEmpty", err)
	}
	must.OK(t, os.Remove(photo))
	b := must.Have(Create(t.Context(), dir, &Options{First: func(b *Book) error { return b.AddLine(t.Context(), "buff", "") }}))(t)
	defer b.Close()
	if lines, err := b.Lines(t.Context()); err != nil || len(lines) != 1 {
		t.Errorf("%d lines, %v, want that which a new book begins with", len(lines), err)
	}
}

// Where the first entries fail, no book is there.
func TestCreateFirstFails(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "garden")
	wrong := errors.New("wrong")
	if _, err := Create(t.Context(), dir, &Options{First: func(*Book) error { return wrong }}); !errors.Is(err, wrong) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("something is left: %v", err)
	}
}
