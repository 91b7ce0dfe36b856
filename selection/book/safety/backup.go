// Package safety keeps a breeding book safe: backups of its database and copies of its
// photos, putting a backup back, and a look at the whole book.
//
// Start with [Backup], [Restore] or [Check].
package safety

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/sqlite"
	"hueward/selection/written"
)

// backupName is a backup that Backup made and Rotate may remove; others, such as
// those made before a migration, stay until the grower removes them.
var backupName = written.Pattern(`^book-(\d{4}-\d{2}-\d{2}T\d{6}Z)(-\d+)?\.db$`)

// Backup copies the database into the file, or with "" into the book's folder of backups under the present time, and
// returns the file's name. The copy is opened and verified before it gets its name; an existing file is not replaced.
func Backup(ctx context.Context, b *book.Book, file string) (string, error) {
	if file == "" {
		return b.BackUpAs(ctx, "book-"+b.Now().UTC().Format(book.BackupTime))
	}
	if os.IsPathSeparator(file[len(file)-1]) {
		return "", fmt.Errorf("back up to %s: that is not a file name; name a file", file)
	}
	if _, err := disk.Lstat(file); err == nil {
		return "", fmt.Errorf("back up to %s: it is there already; name another file", file)
	}
	at, err := book.Outside(file)
	if err != nil {
		return "", fmt.Errorf("back up to %w", err)
	}
	return at, b.CopyTo(ctx, at)
}

// BackupFile is one of the book's backups.
type BackupFile struct {
	Name  string // in the folder of backups
	Bytes int64
	Made  time.Time
}

// Backups are those of the book, the newest first; others than Backup's own too, such as those made before a migration.
func Backups(b *book.Book) ([]BackupFile, error) {
	entries, err := disk.ReadDir(filepath.Join(b.Dir(), book.BackupsFolder))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var out []BackupFile
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || filepath.Ext(e.Name()) != ".db" || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		made := info.ModTime().UTC()
		if m := backupName().FindStringSubmatch(e.Name()); m != nil {
			if t, err := time.Parse(book.BackupTime, m[1]); err == nil {
				made = t
			}
		}
		out = append(out, BackupFile{e.Name(), info.Size(), made})
	}
	slices.SortFunc(out, func(x, y BackupFile) int {
		return cmp.Or(y.Made.Compare(x.Made), strings.Compare(y.Name, x.Name))
	})
	return out, nil
}

// Rotate removes backups that Backup made, but for the newest keep and the newest of each of the last twelve months
// that have any. The one that was just made stays, whatever the clock says. It returns the names removed.
func Rotate(b *book.Book, keep int, made string) ([]string, error) {
	all, err := Backups(b)
	if err != nil {
		return nil, err
	}
	months := map[string]bool{}
	var removed []string
	n := 0
	for _, f := range all {
		if !backupName().MatchString(f.Name) {
			continue
		}
		n++
		month := f.Made.Format("2006-01")
		first := !months[month] && len(months) < 12
		if first {
			months[month] = true
		}
		if n <= keep || first || f.Name == filepath.Base(made) {
			continue
		}
		if err := disk.Remove(filepath.Join(b.Dir(), book.BackupsFolder, f.Name)); err != nil {
			return removed, err
		}
		removed = append(removed, f.Name)
	}
	return removed, nil
}

// CopiedPhotos is what [CopyPhotos] did.
type CopiedPhotos struct {
	All, Copied int        // photos of the book, and those that were not there yet
	Bad         []BadPhoto // those that are not in the copy
}

// BadPhoto is a photo that could not be copied, by its path in the book, and why.
type BadPhoto struct {
	Path string
	Err  error
}

// CopyPhotos copies the book's photos into a folder elsewhere, under the paths that they have in the book; those that
// are there with the same content are left. What it wrote it reads again. It goes on past a photo that is missing or
// damaged. Each is there whole or not at all, so it can be repeated. The error is one that would meet every photo, such
// as a full disk.
func CopyPhotos(ctx context.Context, b *book.Book, dir string) (*CopiedPhotos, error) {
	list, err := b.Photos(ctx, "", "")
	if err != nil {
		return nil, err
	}
	out := &CopiedPhotos{All: len(list)}
	if err := disk.MkdirAll(dir, 0o777); err != nil {
		return out, err
	}
	for _, p := range list {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		copied, err := copyOut(ctx, b, p, dir)
		if errors.Is(err, context.Canceled) || disk.InTrouble(err) {
			return out, fmt.Errorf("copy photo %s: %w", p.Path, err)
		}
		if err != nil {
			out.Bad = append(out.Bad, BadPhoto{p.Path, err})
		}
		if copied {
			out.Copied++
		}
	}
	return out, nil
}

// copyOut copies one photo; copied is false where it is there already.
func copyOut(ctx context.Context, b *book.Book, p book.Photo, dir string) (copied bool, err error) {
	if _, err := naming.CheckPath(p.Path); err != nil {
		return false, err
	}
	to := filepath.Join(dir, filepath.FromSlash(strings.TrimPrefix(p.Path, naming.PhotosFolder+"/")))
	if holds(to, p.SHA256) {
		return false, nil
	}
	if err := disk.MkdirAll(filepath.Dir(to), 0o777); err != nil {
		return false, err
	}
	half := to + ".new"
	disk.Remove(half) // of a run that was stopped
	defer disk.Remove(half)
	whole, err := disk.CopyWhole(ctx, b.PhotoFile(p), half, p.SHA256)
	switch {
	case err != nil:
		return false, err
	case !whole:
		return false, errors.New("it is missing, or has changed since it was copied in")
	case !holds(half, p.SHA256):
		return false, errors.New("what was written is not what is read back; the disk may be failing")
	}
	err = disk.Rename(half, to)
	return err == nil, err
}

// holds reports whether the file has that sum.
func holds(file, sha256 string) bool {
	sum, err := disk.Sum(file)
	return err == nil && sum == sha256
}

// Restore puts a backup in the place of the book in dir, which no other program may have open. What a -wal file beside
// the backup holds goes in, too. The whole is verified first, and what was there is kept among the backups, whose name
// is returned; of a damaged book with its -wal file. At every moment there is a book in dir: the one before, then the
// backup's.
func Restore(ctx context.Context, dir, file string, now time.Time) (kept string, err error) {
	if dir, err = book.Place(dir); err != nil {
		return "", err
	}
	if file, err = disk.Abs(file); err != nil {
		return "", err
	}
	if info, err := disk.Stat(file); err == nil && info.IsDir() {
		if disk.Exists(filepath.Join(file, book.DBName)) {
			return "", fmt.Errorf("restore %s: it is a folder; name the file in it: %s", file, filepath.Join(file, book.DBName))
		}
		return "", fmt.Errorf("restore %s: it is a folder; name the file of a backup", file)
	}
	current := filepath.Join(dir, book.DBName)
	half := current + ".new"
	defer sqlite.Remove(half) // nothing is left of it once it is in its place
	if err := sqlite.CopyClosed(ctx, file, half); err != nil {
		return "", fmt.Errorf("restore %s: %w", file, err)
	}
	if err := sqlite.Flush(ctx, current); errors.Is(err, book.ErrBusy) {
		return "", fmt.Errorf("restore: %w", err)
	}
	if kept, err = setAside(ctx, dir, now); err != nil {
		return "", fmt.Errorf("restore: %w", err)
	}
	// Of a book that is damaged a -wal file is left; it must not meet the backup.
	needed := false // the only place of what was in the -wal file
	defer func() {
		if err != nil && !needed && kept != "" { // the book is what it was
			sqlite.Remove(kept)
			kept = ""
		}
	}()
	for _, ending := range []string{"-wal", "-shm"} {
		switch err := disk.Remove(current + ending); {
		case err == nil:
			needed = needed || ending == "-wal"
		case !errors.Is(err, os.ErrNotExist):
			return kept, fmt.Errorf("restore: %w", err)
		}
	}
	if err := disk.Rename(half, current); err != nil {
		return kept, fmt.Errorf("restore: %w", err)
	}
	disk.SyncDir(dir)
	return kept, nil
}

// setAside copies the book's files, which may be damaged, into the folder of backups,
// and returns the name of the copy; empty where there is none.
func setAside(ctx context.Context, dir string, now time.Time) (kept string, err error) {
	current, backups := filepath.Join(dir, book.DBName), filepath.Join(dir, book.BackupsFolder)
	if free, err := disk.Free(current); free || err != nil {
		return "", err
	}
	if err := disk.MkdirAll(backups, 0o777); err != nil {
		return "", err
	}
	stem := filepath.Join(backups, "before-restore-"+now.UTC().Format(book.BackupTime))
	if kept, err = disk.FreeName(stem, ".db"); err != nil {
		return "", err
	}
	for _, ending := range []string{"-wal", ""} { // where the database is, all of it is
		if free, err := disk.Free(current + ending); err != nil {
			return "", err
		} else if free {
			continue
		}
		half := filepath.Join(backups, sqlite.HalfPrefix+"restore"+ending)
		if err := disk.Copy(ctx, current+ending, half); err != nil {
			return "", err
		}
		if err := disk.Rename(half, kept+ending); err != nil {
			disk.Remove(half)
			return "", err
		}
	}
	disk.SyncDir(backups)
	return kept, nil
}
