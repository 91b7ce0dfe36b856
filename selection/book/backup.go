package book

import (
	"context"
	"fmt"
	"path/filepath"

	"hueward/selection/book/disk"
	"hueward/selection/book/sqlite"
)

// BackupTime is the layout, for [time.Format], of the time in a backup's name.
const BackupTime = "2006-01-02T150405Z"

// CopyTo copies the database, without the photos, into a new file; others may read and write the database
// meanwhile. The copy is verified and synced before it gets its name.
func (b *Book) CopyTo(ctx context.Context, file string) error { return sqlite.CopyTo(ctx, b.db, file) }

// BackUpAs copies the database into the folder of backups, under the name stem, or with a number added if that is
// taken, and returns the file's name.
func (b *Book) BackUpAs(ctx context.Context, stem string) (string, error) {
	if err := b.mayWrite(); err != nil {
		return "", fmt.Errorf("%w; or back up into a file elsewhere", err)
	}
	dir := filepath.Join(b.dir, BackupsFolder)
	if err := disk.MkdirAll(dir, 0o777); err != nil {
		return "", fmt.Errorf("back up: %w", err)
	}
	file, err := disk.FreeName(filepath.Join(dir, stem), ".db")
	if err != nil {
		return "", fmt.Errorf("back up: %w", err)
	}
	return file, sqlite.CopyTo(ctx, b.db, file)
}

// Integrity returns what SQLite finds wrong in the whole database.
func (b *Book) Integrity(ctx context.Context) ([]string, error) {
	found, err := sqlite.Integrity(ctx, b.db)
	return found, sqlite.Wrap(err)
}

// beforeMigration backs up a book whose tables are about to be migrated from the version.
func (b *Book) beforeMigration(ctx context.Context, version int) error {
	if _, err := b.BackUpAs(ctx, fmt.Sprintf("before-version-%d-%s", sqlite.Versions(), b.now().UTC().Format(BackupTime))); err != nil {
		return fmt.Errorf("the book is of version %d and is copied before it is brought to %d: %w", version, sqlite.Versions(), err)
	}
	return nil
}
