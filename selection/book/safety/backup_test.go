package safety

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/disk"
	"hueward/selection/book/sqlite"
)

// openFile opens a copy of a book's database as a book of its own.
func openFile(t *testing.T, file string) *book.Book {
	t.Helper()
	dir := t.TempDir()
	must.OK(t, disk.Copy(context.Background(), file, filepath.Join(dir, book.DBName)))
	return booktest.Open(t, dir)
}

func TestBackup(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	booktest.Record(t, b, "M-1", "a.jpg", "a photo")
	file := must.Have(Backup(ctx, b, ""))(t)
	if want := filepath.Join(b.Dir(), "backups", "book-2026-08-14T120000Z.db"); file != want {
		t.Errorf("backup %q, want %q", file, want)
	}
	booktest.Same(t, "the copy differs", booktest.Rows(t, b), booktest.Rows(t, openFile(t, file)))
	second, err := Backup(ctx, b, "")
	if err != nil || filepath.Base(second) != "book-2026-08-14T120000Z-2.db" {
		t.Errorf("second backup of one moment: %q, %v", second, err)
	}
	if _, err := Backup(ctx, b, file); err == nil {
		t.Error("a backup replaced another")
	}
	for _, f := range booktest.Tree(t, b.Dir()) {
		if strings.Contains(f, ".backup-") || strings.Contains(f, "backups/") && strings.Contains(f, "-wal") {
			t.Errorf("left behind: %s", f)
		}
	}
}

// Backups made while another writes are whole, each of one moment: what a
// transaction adds together is in a copy together.
func TestBackupWhileWriting(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	must.OK(t, b.AddPlant(ctx, book.Plant{ID: "M-0", Line: "marigold", Season: "2026"}))
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
			if _, _, err := b.AddCross(ctx, book.Cross{SeedParent: "M-0", Kind: book.KindSelf, Season: "2026"}, 2); err != nil && i < 400 {
				t.Error(err)
				return
			}
		}
	})
	for i := range 8 {
		file := must.Have(Backup(ctx, b, filepath.Join(t.TempDir(), fmt.Sprint(i, ".db"))))(t)
		c := openFile(t, file)
		if crosses, heads := booktest.Count(t, c, "cross"), booktest.Count(t, c, "head"); heads != 2*crosses {
			t.Errorf("copy %d has %d crosses and %d heads", i, crosses, heads)
		}
	}
	close(stop)
	wg.Wait()
}

func TestRotate(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	dir := filepath.Join(b.Dir(), "backups")
	write := func(name string) {
		must.OK(t, os.WriteFile(filepath.Join(dir, name), nil, 0o644))
	}
	for m := range 20 { // two in each of twenty months
		for _, d := range []int{3, 20} {
			write("book-" + time.Date(2025, time.Month(m+1), d, 8, 0, 0, 0, time.UTC).Format(book.BackupTime) + ".db")
		}
	}
	for _, other := range []string{"before-version-3-2025-01-01T000000Z.db", "mine.db", "book-2025-01-01.db", "notes.txt"} {
		write(other)
	}
	removed := must.Have(Rotate(b, 4, ""))(t)
	all := must.Have(Backups(b))(t)
	// Kept: the newest four (August and July 2026), and the newest of ten more months.
	if len(removed) != 40-4-10 || len(all) != 4+10+3 {
		t.Errorf("%d removed, %d left", len(removed), len(all))
	}
	for _, name := range removed {
		if !backupName().MatchString(name) || strings.HasPrefix(name, "book-2026-0") && strings.Contains(name, "-20T") {
			t.Errorf("removed %s", name)
		}
	}
	if again, err := Rotate(b, 4, ""); err != nil || len(again) > 0 {
		t.Errorf("again: removed %v, %v", again, err)
	}
}

func TestRestore(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	before := booktest.Rows(t, b)
	file := must.Have(Backup(ctx, b, ""))(t)
	must.OK(t, b.SetNote(ctx, "M-1", "changed since"))
	if _, err := Restore(ctx, b.Dir(), file, booktest.Noon); !errors.Is(err, book.ErrBusy) {
		t.Fatalf("restored over an open book: %v", err)
	}
	if p, err := b.Plant(ctx, "M-1"); err != nil || p.Note != "changed since" {
		t.Fatalf("after a refused restore: %+v, %v", p, err)
	}
	b.Close()
	kept := must.Have(Restore(ctx, b.Dir(), file, booktest.Noon))(t)
	c := must.Have(book.Open(ctx, b.Dir(), booktest.Clock))(t)
	booktest.Same(t, "restored", before, booktest.Rows(t, c))
	c.Close()
	if _, err := Restore(ctx, b.Dir(), kept, booktest.Noon); err != nil { // taken back the same way
		t.Fatal(err)
	}
	c = must.Have(book.Open(ctx, b.Dir(), booktest.Clock))(t)
	defer c.Close()
	if p, err := c.Plant(ctx, "M-1"); err != nil || p.Note != "changed since" {
		t.Errorf("taken back: %+v, %v", p, err)
	}
}

// A book of an older version is copied before it is brought up to date; where that
// fails it stays as it is.
func TestBackupBeforeMigration(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for version := 1; version < sqlite.Versions(); version++ {
		dir := t.TempDir()
		must.OK(t, os.CopyFS(dir, os.DirFS(filepath.Join("..", "testdata", fmt.Sprint("v", version)))))
		if disk.Exists(filepath.Join(dir, book.DBName+".sql")) || !disk.Exists(filepath.Join(dir, book.DBName)) {
			t.Fatalf("testdata/v%d is kept in another form; this test must follow", version)
		}
		must.OK(t, os.WriteFile(filepath.Join(dir, book.BackupsFolder), []byte("in the way"), 0o644))
		if b, err := book.Open(ctx, dir, booktest.Clock); err == nil {
			b.Close()
			t.Fatalf("version %d was migrated without a backup", version)
		}
		must.OK(t, os.Remove(filepath.Join(dir, book.BackupsFolder)))
		b := must.Have(book.Open(ctx, dir, booktest.Clock))(t)
		all, err := Backups(b)
		if err != nil || len(all) != 1 || !strings.HasPrefix(all[0].Name, fmt.Sprintf("before-version-%d-", sqlite.Versions())) {
			t.Fatalf("version %d: backups %v, %v", version, all, err)
		}
		if err := sqlite.Verify(ctx, filepath.Join(dir, book.BackupsFolder, all[0].Name)); err != nil {
			t.Error(err)
		}
		db := must.Have(sql.Open("sqlite", filepath.Join(dir, book.BackupsFolder, all[0].Name)))(t)
		var was int
		if err := db.QueryRow("PRAGMA user_version").Scan(&was); err != nil || was != version {
			t.Errorf("the backup is of version %d, want %d (%v)", was, version, err)
		}
		db.Close()
		b.Close()
	}
}

func TestCheck(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	booktest.Record(t, b, "M-1", "a.jpg", "a photo")
	find := func() (out []string) {
		found := must.Have(Check(ctx, b, nil))(t)
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
		"INSERT INTO season (name, key) VALUES ('2999', '2999')",
		"UPDATE plant SET season_id = (SELECT id FROM season WHERE name = '2999') WHERE name = 'M-2'",
		"UPDATE plant SET seed_parent_id = (SELECT id FROM plant WHERE name = 'M-2') WHERE name = 'M-1'",
		"UPDATE plant SET seed_parent_id = (SELECT id FROM plant WHERE name = 'M-1') WHERE name = 'M-2'",
		"UPDATE plant SET pollen_parent_id = 999 WHERE name = 'M-1'",
	} {
		booktest.DB(t, b).SetMaxOpenConns(1)
		must.Have(booktest.DB(t, b).Exec(stmt))(t)
	}
	got := strings.Join(find(), "\n")
	for _, want := range []string{"book.db: plant 1 names a plant that is not there", "plant M-1: is its own ancestor",
		"plant M-2: is its own ancestor", "before that of its parent M-2, 2999"} {
		if !strings.Contains(got, want) {
			t.Errorf("found\n%s\nwithout %q", got, want)
		}
	}
}
