package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	driver "modernc.org/sqlite"

	"hueward/selection/book/disk"
	"hueward/selection/written"
)

// HalfPrefix begins the names of copies that are not finished, or whose making was
// interrupted.
const HalfPrefix = ".backup-"

// CopyClosed copies a database that no program has open into a new file, with what a
// -wal file beside it holds, and verifies the copy.
func CopyClosed(ctx context.Context, from, to string) error {
	if err := Header(from); err != nil {
		return err
	}
	Remove(to) // of a run that was interrupted
	if err := copyFiles(ctx, from, to); err != nil {
		return err
	}
	return Verify(ctx, to)
}

// copyFiles copies a database that no program writes to, with what a -wal file beside it holds.
func copyFiles(ctx context.Context, from, to string) error {
	for _, ending := range []string{"-wal", ""} {
		if info, err := disk.Stat(from + ending); ending != "" && (err != nil || info.Size() == 0) {
			continue
		}
		if err := disk.Copy(ctx, from+ending, to+ending); err != nil {
			return err
		}
	}
	if disk.Exists(to + "-wal") {
		return Flush(ctx, to)
	}
	return nil
}

// Remove removes a database and the files that SQLite keeps beside it.
func Remove(file string) {
	for _, ending := range []string{"", "-wal", "-shm", "-journal"} {
		disk.Remove(file + ending)
	}
}

// CopyTo copies the database into a new file, verified and synced before it is
// there under its name.
//
// Source: SQLite, VACUUM INTO: a consistent copy of one moment, with row ids of
// declared keys, user_version and application_id kept.
func CopyTo(ctx context.Context, db *sql.DB, file string) (err error) {
	disk.ClearOld(filepath.Dir(file), HalfPrefix+"*", time.Now().Add(-24*time.Hour)) // younger ones may be another program's
	temp, err := disk.CreateTemp(filepath.Dir(file), HalfPrefix+"*")
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("back up to %s: there is no folder %s; make it first, or name another", file, filepath.Dir(file))
	}
	var p *fs.PathError
	if errors.As(err, &p) { // of a name that is not the file's
		err = p.Err
	}
	if err != nil {
		return fmt.Errorf("back up to %s: %w", file, err)
	}
	temp.Close()
	half := temp.Name()
	defer func() {
		if err != nil {
			Remove(half)
			err = fmt.Errorf("back up to %s: %w", file, err)
		}
	}()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", half); err != nil { // takes an empty file for none
		var e *driver.Error
		if errors.As(err, &e) && e.Code() == 1 { // it could not see whether the file is empty
			return &said{disk.SaidFailed, nil, err}
		}
		return Wrap(err)
	}
	if err := Verify(ctx, half); err != nil {
		return err
	}
	f, err := disk.OpenFile(half, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := f.Finish(); err != nil {
		return err
	}
	if err := disk.Rename(half, file); err != nil {
		return err
	}
	disk.SyncDir(filepath.Dir(file))
	return nil
}

// readOnly opens a database file that nobody writes to, without leaving a trace.
func readOnly(file string) (*sql.DB, error) {
	return openAs(file, url.Values{"mode": {"ro"}, "immutable": {"1"}, "_pragma": {"trusted_schema(0)"}})
}

// OpenStill opens a database that may not be written to, as it is: in its place where
// nothing waits in a -wal file, else a copy in a folder of its own, which the caller
// removes; empty: none.
func OpenStill(ctx context.Context, file string) (db *sql.DB, temp string, err error) {
	if info, err := disk.Stat(file + "-wal"); err == nil && info.Size() > 0 {
		if temp, err = os.MkdirTemp("", "hueward-still-"); err != nil {
			return nil, "", err
		}
		to := filepath.Join(temp, FileName)
		if err := copyFiles(ctx, file, to); err != nil {
			os.RemoveAll(temp)
			return nil, "", err
		}
		file = to
	}
	if db, err = readOnly(file); err == nil {
		db.SetMaxOpenConns(4)
	}
	return db, temp, err
}

// OpenCopy copies the database, which others may use, into a folder of its own, which the
// caller removes, and brings the copy up to date.
func OpenCopy(ctx context.Context, db *sql.DB) (copied *sql.DB, temp string, err error) {
	if temp, err = os.MkdirTemp("", "hueward-copy-"); err != nil {
		return nil, "", err
	}
	defer func() {
		if err != nil {
			os.RemoveAll(temp)
		}
	}()
	file := filepath.Join(temp, FileName)
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", file); err != nil {
		return nil, "", Wrap(err)
	}
	if copied, err = Open(file, "rw"); err != nil {
		return nil, "", err
	}
	if err := Migrate(ctx, copied); err != nil {
		copied.Close()
		return nil, "", err
	}
	return copied, temp, nil
}

// Old reports whether the database is of an older version than this program's, and of which.
func Old(ctx context.Context, db *sql.DB) (version int, old bool, err error) {
	version, err = versionOf(ctx, db)
	return version, version < Versions(), err
}

func versionOf(ctx context.Context, q Querier) (version int, err error) {
	err = q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version)
	return version, Wrap(err)
}

// Verify opens a copy of the database and looks at all of it. The error is one line.
func Verify(ctx context.Context, file string) error {
	if err := Header(file); err != nil {
		return err
	}
	db, err := readOnly(file)
	if err != nil {
		return err
	}
	defer db.Close()
	found, err := Integrity(ctx, db)
	if err != nil {
		return Wrap(err)
	}
	if len(found) > 0 {
		return fmt.Errorf("%w: %s", ErrDamaged, found[0])
	}
	return CheckSchema(ctx, db)
}

// pageError is what SQLite says of a page that it could not read.
var pageError = written.Pattern(`unable to get the page\. error code=(\d+)`)

// Integrity returns what SQLite finds wrong in the whole database.
func Integrity(ctx context.Context, db *sql.DB) ([]string, error) {
	said20, err := Column[string](ctx, db, "PRAGMA integrity_check(20)")
	if err != nil {
		return nil, err
	}
	var found []string
	for _, s := range said20 {
		if m := pageError().FindStringSubmatch(s); m != nil {
			if code, err := strconv.Atoi(m[1]); err == nil && code&0xff == 10 { // IOERR: the page was not read, and may be sound
				return nil, &said{saidBook, nil, errors.New(s)}
			}
		}
		if s != "ok" {
			found = append(found, strings.ReplaceAll(s, "\n", "; "))
		}
	}
	links, err := Column[string](ctx, db, `SELECT format('%s %d names a %s that is not there', "table", coalesce(rowid, 0), parent)
		FROM pragma_foreign_key_check LIMIT 20`)
	if err != nil {
		return nil, err
	}
	found = append(found, links...)
	if version, err := versionOf(ctx, db); err != nil || version < sumsVersion || len(found) > 0 {
		return found, err
	}
	return checkSums(ctx, db)
}

// Flush writes what is in the -wal file into the database, and fails with
// ErrBusy when another program has it open.
func Flush(ctx context.Context, file string) error {
	if !disk.Exists(file) {
		return nil
	}
	db, err := Open(file, "rw")
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	if err = cmp.Or(err, db.Close()); err == nil && disk.Exists(file+"-wal") { // the last to close it removes it
		return fmt.Errorf("%w: another program has it open; close it and try again", ErrBusy)
	}
	return Wrap(err)
}
