package safety

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/disk"
	"hueward/selection/book/sqlite"
)

// A clock that was set back gives the newest backup an old name; it stays.
func TestRotateKeepsTheOneMade(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	for m := range 14 {
		name := "book-" + time.Date(2026, time.Month(m+1), 3, 8, 0, 0, 0, time.UTC).Format(book.BackupTime) + ".db"
		must.OK(t, os.WriteFile(filepath.Join(b.Dir(), "backups", name), nil, 0o644))
	}
	b.Close()
	back, err := book.Open(t.Context(), b.Dir(), &book.Options{Now: func() time.Time { return time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC) }})
	if err != nil {
		t.Fatal(err)
	}
	defer back.Close()
	made := must.Have(Backup(t.Context(), back, ""))(t)
	must.Have(Rotate(back, 1, made))(t)
	if !disk.Exists(made) {
		t.Errorf("%s, just made, was removed", made)
	}
}

// What was entered and lies in a -wal file beside the backup is restored, too.
func TestRestoreReadsTheWAL(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	must.OK(t, b.SetNote(t.Context(), "M-1", "in the -wal file"))
	source := filepath.Join(t.TempDir(), "copied.db")
	for _, ending := range []string{"", "-wal"} { // as a grower copies an open book
		must.OK(t, disk.Copy(t.Context(), filepath.Join(b.Dir(), book.DBName)+ending, source+ending))
	}
	other := booktest.New(t)
	other.Close()
	must.Have(Restore(t.Context(), other.Dir(), source, booktest.Noon))(t)
	c := booktest.Open(t, other.Dir())
	if p, err := c.Plant(t.Context(), "M-1"); err != nil || p.Note != "in the -wal file" {
		t.Errorf("restored: %+v, %v", p, err)
	}
	if left, _ := filepath.Glob(filepath.Join(other.Dir(), "book.db.new*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Until the backup is in its place, the book before is: also where that fails.
func TestRestoreKeepsABook(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	want := booktest.Rows(t, b)
	file := must.Have(Backup(t.Context(), b, ""))(t)
	b.Close()
	// The folder of backups is full of a folder of the very name.
	must.OK(t, os.Mkdir(filepath.Join(b.Dir(), book.BackupsFolder, sqlite.HalfPrefix+"restore"), 0o777))
	if _, err := Restore(t.Context(), b.Dir(), file, booktest.Noon); err == nil {
		t.Fatal("restored without setting the book aside")
	}
	booktest.Same(t, "the book", want, booktest.Rows(t, booktest.Open(t, b.Dir())))
}

// What a killed backup left is found, and cleared by a later one.
func TestLeftOverCopies(t *testing.T) {
	t.Parallel()
	b := booktest.New(t)
	left := filepath.Join(b.Dir(), book.BackupsFolder, sqlite.HalfPrefix+"123")
	must.OK(t, os.WriteFile(left, []byte("half"), 0o600))
	found, err := Check(t.Context(), b, nil)
	if err != nil || len(found) != 1 || found[0].Where != "backups/.backup-123" || found[0].Harmful {
		t.Errorf("found %+v, %v; want the copy, not harmful", found, err)
	}
	for _, age := range []time.Duration{time.Hour, 48 * time.Hour} {
		when := time.Now().Add(-age)
		must.OK(t, os.Chtimes(left, when, when))
		must.Have(Backup(t.Context(), b, ""))(t)
		if disk.Exists(left) != (age < 24*time.Hour) {
			t.Errorf("a copy %v old is there: %v", age, disk.Exists(left))
		}
	}
}

// A backup of photos goes on past bad ones, names them, and believes no file by its
// size and time.
func TestCopyPhotosGoesOn(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	third := booktest.Record(t, b, "M-3", "IMG_3.jpg", "third bloom").Photo
	spoil := func(file, content string) {
		t.Helper()
		info, err := os.Stat(file)
		if err == nil {
			err = errors.Join(os.Chmod(file, 0o644), os.WriteFile(file, []byte(content), 0o644), os.Chtimes(file, info.ModTime(), info.ModTime()))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	first := must.Have(b.PhotoBySHA(t.Context(), booktest.Reading("first bloom").SHA256))(t)
	spoil(b.PhotoFile(*first), "worst bloom")
	must.OK(t, os.Remove(b.PhotoFile(third)))
	dir := filepath.Join(t.TempDir(), "stick")
	got, err := CopyPhotos(t.Context(), b, dir)
	if err != nil || got.All != 3 || got.Copied != 1 || len(got.Bad) != 2 || got.Bad[0].Path != first.Path || got.Bad[1].Path != third.Path {
		t.Fatalf("copied %+v, %v; want one, and both bad ones named", got, err)
	}
	spoil(b.PhotoFile(*first), "first bloom")
	spoil(filepath.Join(dir, "2026", "M-2", "IMG_0413.jpg"), "secund bloom")
	if got, err = CopyPhotos(t.Context(), b, dir); err != nil || got.Copied != 2 || len(got.Bad) != 1 {
		t.Errorf("repeated: %+v, %v; want the mended one and the spoilt copy anew", got, err)
	}
	// A path that leaves the folder, as a received book may hold, is not followed.
	must.Have(booktest.DB(t, b).Exec("UPDATE photo SET path = 'photos/../../outside.jpg' WHERE id = ?", first.ID))(t)
	if got, err = CopyPhotos(t.Context(), b, dir); err != nil || len(got.Bad) != 2 ||
		!strings.Contains(got.Bad[0].Err.Error(), "not a place for a photo") {
		t.Errorf("a path out of the folder: %+v, %v", got, err)
	}
}
