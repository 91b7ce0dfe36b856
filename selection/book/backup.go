package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

// A backup is a copy of book.db, made while others may read and write it. The
// photos are not in it: they never change, and lie beside it as files.

// backupName is a backup that Backup made and Rotate may remove; others, such as
// those made before a migration, stay until the grower removes them.
var backupName = regexp.MustCompile(`^book-(\d{4}-\d{2}-\d{2}T\d{6}Z)(-\d+)?\.db$`)

const backupTime = "2006-01-02T150405Z"

// Backup copies the database into the file, or with "" into the book's folder of
// backups under the present time, and returns the file's name. The copy is
// opened and verified before it gets its name; an existing file is not replaced.
func (b *Book) Backup(ctx context.Context, file string) (string, error) {
	if file == "" {
		return b.backupAs(ctx, "book-"+b.now().UTC().Format(backupTime))
	}
	file, err := filepath.Abs(file)
	if err != nil {
		return "", err
	}
	if _, err := os.Lstat(file); err == nil {
		return "", fmt.Errorf("back up to %s: it is there already; name another file", file)
	}
	return file, copyDB(ctx, b.db, file)
}

// backupAs backs up into the folder of backups, with a number when the name is
// taken.
func (b *Book) backupAs(ctx context.Context, stem string) (string, error) {
	dir := filepath.Join(b.dir, backupsName)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return "", fmt.Errorf("back up: %w", err)
	}
	for i := 1; ; i++ {
		file := filepath.Join(dir, stem+".db")
		if i > 1 {
			file = filepath.Join(dir, fmt.Sprintf("%s-%d.db", stem, i))
		}
		if _, err := os.Lstat(file); errors.Is(err, fs.ErrNotExist) {
			return file, copyDB(ctx, b.db, file)
		}
	}
}

// copyDB copies the database into a new file, verified and synced before it is
// there under its name.
//
// Source: SQLite, VACUUM INTO: a consistent copy of one moment, with row ids of
// declared keys, user_version and application_id kept.
func copyDB(ctx context.Context, db *sql.DB, file string) (err error) {
	temp, err := os.CreateTemp(filepath.Dir(file), ".backup-*")
	if err != nil {
		return fmt.Errorf("back up: %w", diskFull(err))
	}
	temp.Close()
	half := temp.Name()
	defer func() {
		if err != nil {
			os.Remove(half)
			err = fmt.Errorf("back up to %s: %w", file, diskFull(err))
		}
	}()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", half); err != nil { // takes an empty file for none
		return wrap(err)
	}
	if err := verifyDB(ctx, half); err != nil {
		return err
	}
	f, err := os.OpenFile(half, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Sync()
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	if err := os.Rename(half, file); err != nil {
		return err
	}
	syncDir(filepath.Dir(file))
	return nil
}

// readOnly opens a database file that nobody writes to, without leaving a trace.
func readOnly(file string) (*sql.DB, error) {
	p := filepath.ToSlash(file)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	name := url.URL{Scheme: "file", Path: p, RawQuery: url.Values{"mode": {"ro"}, "immutable": {"1"}, "_pragma": {"trusted_schema(0)"}}.Encode()}
	return sql.Open("sqlite", name.String())
}

// verifyDB opens a copy and looks at all of it. The error is one line.
func verifyDB(ctx context.Context, file string) error {
	if err := checkHeader(file); err != nil {
		return err
	}
	db, err := readOnly(file)
	if err != nil {
		return err
	}
	defer db.Close()
	found, err := integrity(ctx, db)
	if err != nil {
		return wrap(err)
	}
	if len(found) > 0 {
		return fmt.Errorf("%w: %s", ErrDamaged, found[0])
	}
	var version int
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return wrap(err)
	}
	if version > len(steps()) {
		return fmt.Errorf("%w (version %d)", ErrNewer, version)
	}
	return nil
}

// integrity returns what SQLite finds wrong in the whole database.
func integrity(ctx context.Context, db *sql.DB) ([]string, error) {
	var found []string
	rows, err := db.QueryContext(ctx, "PRAGMA integrity_check(20)")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		if s != "ok" {
			found = append(found, strings.ReplaceAll(s, "\n", "; "))
		}
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	links, err := db.QueryContext(ctx, `SELECT "table", coalesce(rowid, 0), parent FROM pragma_foreign_key_check LIMIT 20`)
	if err != nil {
		return nil, err
	}
	defer links.Close()
	for links.Next() {
		var table, parent string
		var row int64
		if err := links.Scan(&table, &row, &parent); err != nil {
			return nil, err
		}
		found = append(found, fmt.Sprintf("%s %d names a %s that is not there", table, row, parent))
	}
	return found, links.Err()
}

// BackupFile is one of the book's backups.
type BackupFile struct {
	Name  string // in the folder of backups
	Bytes int64
	Made  time.Time
}

// Backups are those of the book, the newest first; others than Backup's own too,
// such as those made before a migration.
func (b *Book) Backups() ([]BackupFile, error) {
	entries, err := os.ReadDir(filepath.Join(b.dir, backupsName))
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
		if m := backupName.FindStringSubmatch(e.Name()); m != nil {
			if t, err := time.Parse(backupTime, m[1]); err == nil {
				made = t
			}
		}
		out = append(out, BackupFile{e.Name(), info.Size(), made})
	}
	slices.SortFunc(out, func(x, y BackupFile) int {
		if c := y.Made.Compare(x.Made); c != 0 {
			return c
		}
		return strings.Compare(y.Name, x.Name)
	})
	return out, nil
}

// Rotate removes backups that Backup made, but for the newest keep and the newest
// of each of the last twelve months that have any. It returns the names removed.
func (b *Book) Rotate(keep int) ([]string, error) {
	all, err := b.Backups()
	if err != nil {
		return nil, err
	}
	months := map[string]bool{}
	var removed []string
	n := 0
	for _, f := range all {
		if !backupName.MatchString(f.Name) {
			continue
		}
		n++
		month := f.Made.Format("2006-01")
		first := !months[month] && len(months) < 12
		if first {
			months[month] = true
		}
		if n <= keep || first {
			continue
		}
		if err := os.Remove(filepath.Join(b.dir, backupsName, f.Name)); err != nil {
			return removed, err
		}
		removed = append(removed, f.Name)
	}
	return removed, nil
}

// beforeMigration backs up a book that is to be brought up to date.
func (b *Book) beforeMigration(ctx context.Context) error {
	var version int
	if err := b.db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return wrap(err)
	}
	if version == 0 || version >= len(steps()) {
		return nil
	}
	if _, err := b.backupAs(ctx, fmt.Sprintf("before-version-%d-%s", len(steps()), b.now().UTC().Format(backupTime))); err != nil {
		return fmt.Errorf("the book is of version %d and is copied before it is brought to %d: %w", version, len(steps()), err)
	}
	return nil
}

// Restore puts a backup in the place of the book in dir, which no other program
// may have open. The file is verified first, and what was there is kept among the
// backups, whose name is returned; of a damaged book with its -wal file.
func Restore(ctx context.Context, dir, file string, now time.Time) (kept string, err error) {
	dir, err = filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	if file, err = filepath.Abs(file); err != nil {
		return "", err
	}
	if err := verifyDB(ctx, file); err != nil {
		return "", fmt.Errorf("restore %s: %w", file, err)
	}
	current := filepath.Join(dir, dbName)
	backups := filepath.Join(dir, backupsName)
	if err := os.MkdirAll(backups, 0o777); err != nil {
		return "", fmt.Errorf("restore: %w", err)
	}
	half := current + ".new"
	if err := copyFile(file, half); err != nil {
		return "", fmt.Errorf("restore %s: %w", file, diskFull(err))
	}
	defer os.Remove(half) // no-op once it is in its place
	stem := "before-restore-" + now.UTC().Format(backupTime)
	kept = filepath.Join(backups, stem+".db")
	for i := 2; exists(kept); i++ {
		kept = filepath.Join(backups, fmt.Sprintf("%s-%d.db", stem, i))
	}
	if err := closeWAL(ctx, current); errors.Is(err, ErrBusy) {
		return "", fmt.Errorf("restore: %w", err)
	}
	// Set aside as files: they may be damaged.
	for _, ending := range []string{"-wal", "-shm", ""} {
		if !exists(current + ending) {
			continue
		}
		if err := os.Rename(current+ending, kept+ending); err != nil {
			return "", fmt.Errorf("restore: %w", err)
		}
	}
	if err := os.Rename(half, current); err != nil {
		return kept, fmt.Errorf("restore: %w; the book lies in %s", err, kept)
	}
	syncDir(dir)
	return kept, nil
}

func exists(file string) bool {
	_, err := os.Lstat(file)
	return err == nil
}

// closeWAL writes what is in the -wal file into the database, and fails with
// ErrBusy when another program has it open.
func closeWAL(ctx context.Context, file string) error {
	if !exists(file) {
		return nil
	}
	db, err := openDB(file, "rw")
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	if e := db.Close(); err == nil {
		err = e
	}
	if err == nil && exists(file+"-wal") { // the last to close it removes it
		return fmt.Errorf("%w: another program has it open; close it and try again", ErrBusy)
	}
	return wrap(err)
}

// copyFile copies a file to a new one, synced.
func copyFile(from, to string) error {
	b, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(to, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(to)
	}
	return err
}
