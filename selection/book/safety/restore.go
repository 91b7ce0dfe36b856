package safety

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/sqlite"
)

// Restore puts a backup in the place of the book in dir, which no other program
// may have open. What a -wal file beside the backup holds goes in, too. The whole is
// verified first, and what was there is kept among the backups, whose name is
// returned; of a damaged book with its -wal file. At every moment there is a book in
// dir: the one before, then the backup's.
func Restore(ctx context.Context, dir, file string, now time.Time) (kept string, err error) {
	if dir, err = book.Place(dir); err != nil {
		return "", err
	}
	if file, err = filepath.Abs(file); err != nil {
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
