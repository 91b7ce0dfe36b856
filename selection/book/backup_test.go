package book

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// openFile opens a copy of a book's database as a book of its own.
func openFile(t *testing.T, file string) *Book {
	t.Helper()
	dir := t.TempDir()
	if err := copyFile(file, filepath.Join(dir, dbName)); err != nil {
		t.Fatal(err)
	}
	b, err := Open(context.Background(), dir, clock)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func TestBackup(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	fill(t, b)
	record(t, b, "M-1", "a.jpg", "a photo")
	file, err := b.Backup(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	if want := filepath.Join(b.Dir(), "backups", "book-2026-08-14T120000Z.db"); file != want {
		t.Errorf("backup %q, want %q", file, want)
	}
	if d := cmp.Diff(entered(t, b), entered(t, openFile(t, file))); d != "" {
		t.Errorf("the copy differs (-book +copy):\n%s", d)
	}
	second, err := b.Backup(ctx, "")
	if err != nil || filepath.Base(second) != "book-2026-08-14T120000Z-2.db" {
		t.Errorf("second backup of one moment: %q, %v", second, err)
	}
	if _, err := b.Backup(ctx, file); err == nil {
		t.Error("a backup replaced another")
	}
	for _, f := range tree(t, b.Dir()) {
		if strings.Contains(f, ".backup-") || strings.Contains(f, "backups/") && strings.Contains(f, "-wal") {
			t.Errorf("left behind: %s", f)
		}
	}
}

// Backups made while another writes are whole, each of one moment: what a
// transaction adds together is in a copy together.
func TestBackupWhileWriting(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	if err := b.AddPlant(ctx, Plant{ID: "M-0", Line: "marigold", Season: "2026"}); err != nil {
		t.Fatal(err)
	}
	stop := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		for i := 1; ; i++ {
			select {
			case <-stop:
				return
			default:
			}
			// A cross with two heads, in one transaction.
			if _, _, err := b.AddCross(ctx, Cross{SeedParent: "M-0", Kind: KindSelf, Season: "2026"}, 2); err != nil && i < maxHeads/2 {
				t.Error(err)
				return
			}
		}
	})
	for i := range 8 {
		file, err := b.Backup(ctx, filepath.Join(t.TempDir(), fmt.Sprint(i, ".db")))
		if err != nil {
			t.Fatal(err)
		}
		c := openFile(t, file)
		if crosses, heads := count(t, c, "cross"), count(t, c, "head"); heads != 2*crosses {
			t.Errorf("copy %d has %d crosses and %d heads", i, crosses, heads)
		}
	}
	close(stop)
	wg.Wait()
}

func TestRotate(t *testing.T) {
	b := newBook(t)
	dir := filepath.Join(b.Dir(), "backups")
	write := func(name string) {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for m := range 20 { // two in each of twenty months
		for _, d := range []int{3, 20} {
			write("book-" + time.Date(2025, time.Month(m+1), d, 8, 0, 0, 0, time.UTC).Format(backupTime) + ".db")
		}
	}
	for _, other := range []string{"before-version-3-2025-01-01T000000Z.db", "mine.db", "book-2025-01-01.db", "notes.txt"} {
		write(other)
	}
	removed, err := b.Rotate(4)
	if err != nil {
		t.Fatal(err)
	}
	all, err := b.Backups()
	if err != nil {
		t.Fatal(err)
	}
	// Kept: the newest four (August and July 2026), and the newest of ten more months.
	if len(removed) != 40-4-10 || len(all) != 4+10+3 {
		t.Errorf("%d removed, %d left", len(removed), len(all))
	}
	for _, name := range removed {
		if !backupName.MatchString(name) || strings.HasPrefix(name, "book-2026-0") && strings.Contains(name, "-20T") {
			t.Errorf("removed %s", name)
		}
	}
	if again, err := b.Rotate(4); err != nil || len(again) > 0 {
		t.Errorf("again: removed %v, %v", again, err)
	}
}

func TestRestore(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	fill(t, b)
	before := entered(t, b)
	file, err := b.Backup(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	if err := b.SetNote(ctx, "M-1", "changed since"); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, b.Dir(), file, noon); !errors.Is(err, ErrBusy) {
		t.Fatalf("restored over an open book: %v", err)
	}
	if p, err := b.Plant(ctx, "M-1"); err != nil || p.Note != "changed since" {
		t.Fatalf("after a refused restore: %+v, %v", p, err)
	}
	b.Close()
	kept, err := Restore(ctx, b.Dir(), file, noon)
	if err != nil {
		t.Fatal(err)
	}
	c, err := Open(ctx, b.Dir(), clock)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(before, entered(t, c)); d != "" {
		t.Errorf("restored (-then +now):\n%s", d)
	}
	c.Close()
	if _, err := Restore(ctx, b.Dir(), kept, noon); err != nil { // taken back the same way
		t.Fatal(err)
	}
	c, err = Open(ctx, b.Dir(), clock)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if p, err := c.Plant(ctx, "M-1"); err != nil || p.Note != "changed since" {
		t.Errorf("taken back: %+v, %v", p, err)
	}
}

// A book of an older version is copied before it is brought up to date; where that
// fails it stays as it is.
func TestBackupBeforeMigration(t *testing.T) {
	ctx := context.Background()
	for version := 1; version < len(steps()); version++ {
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(filepath.Join("testdata", fmt.Sprint("v", version)))); err != nil {
			t.Fatal(err)
		}
		if exists(filepath.Join(dir, dbName+".sql")) || !exists(filepath.Join(dir, dbName)) {
			t.Fatalf("testdata/v%d is kept in another form; this test must follow", version)
		}
		if err := os.WriteFile(filepath.Join(dir, backupsName), []byte("in the way"), 0o644); err != nil {
			t.Fatal(err)
		}
		if b, err := Open(ctx, dir, clock); err == nil {
			b.Close()
			t.Fatalf("version %d was migrated without a backup", version)
		}
		if err := os.Remove(filepath.Join(dir, backupsName)); err != nil {
			t.Fatal(err)
		}
		b, err := Open(ctx, dir, clock)
		if err != nil {
			t.Fatal(err)
		}
		all, err := b.Backups()
		if err != nil || len(all) != 1 || !strings.HasPrefix(all[0].Name, fmt.Sprintf("before-version-%d-", len(steps()))) {
			t.Fatalf("version %d: backups %v, %v", version, all, err)
		}
		if err := verifyDB(ctx, filepath.Join(dir, backupsName, all[0].Name)); err != nil {
			t.Error(err)
		}
		db, err := readOnly(filepath.Join(dir, backupsName, all[0].Name))
		if err != nil {
			t.Fatal(err)
		}
		var was int
		if err := db.QueryRow("PRAGMA user_version").Scan(&was); err != nil || was != version {
			t.Errorf("the backup is of version %d, want %d (%v)", was, version, err)
		}
		db.Close()
		b.Close()
	}
}

// A full disk is said in so many words, and what was to be written is not there in
// part.
func TestDiskFull(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	fill(t, b)
	b.db.SetMaxOpenConns(1) // the limit is one connection's
	var pages int
	if err := b.db.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := b.db.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages)); err != nil {
		t.Fatal(err)
	}
	before := entered(t, b)
	err := b.SetNote(ctx, "M-1", strings.Repeat("a long note. ", 20_000))
	if err == nil || !strings.Contains(err.Error(), "the disk is full; make room and try again") {
		t.Errorf("a full disk: %v", err)
	}
	if d := cmp.Diff(before, entered(t, b)); d != "" {
		t.Errorf("changed all the same (-before +after):\n%s", d)
	}
	if _, err := b.db.Exec("PRAGMA max_page_count = 1000000"); err != nil {
		t.Fatal(err)
	}
	if err := b.SetNote(ctx, "M-1", "room again"); err != nil {
		t.Errorf("after room was made: %v", err)
	}
}

func TestCheck(t *testing.T) {
	ctx := context.Background()
	b := newBook(t)
	fill(t, b)
	record(t, b, "M-1", "a.jpg", "a photo")
	find := func() (out []string) {
		found, err := b.Check(ctx, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			if f.Do == "" || strings.ContainsAny(f.What+f.Do, "\n") {
				t.Errorf("%+v does not say what to do, in one line", f)
			}
			out = append(out, fmt.Sprint(f.Where, ": ", f.What))
		}
		return out
	}
	if found := find(); len(found) > 0 {
		t.Fatalf("a sound book: %v", found)
	}
	// What no command can do, another program may have done.
	for _, stmt := range []string{
		"PRAGMA foreign_keys = 0",
		"UPDATE plant SET seed_parent_id = (SELECT id FROM plant WHERE name = 'M-2') WHERE name = 'M-1'",
		"UPDATE plant SET seed_parent_id = (SELECT id FROM plant WHERE name = 'M-1') WHERE name = 'M-2'",
		"UPDATE plant SET pollen_parent_id = 999 WHERE name = 'M-1'",
	} {
		b.db.SetMaxOpenConns(1)
		if _, err := b.db.Exec(stmt); err != nil {
			t.Fatal(err)
		}
	}
	got := strings.Join(find(), "\n")
	for _, want := range []string{"book.db: plant 1 names a plant that is not there", "plant M-1: is its own ancestor", "plant M-2: is its own ancestor"} {
		if !strings.Contains(got, want) {
			t.Errorf("found\n%s\nwithout %q", got, want)
		}
	}
}
