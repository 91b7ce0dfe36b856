// Package sqlite is a breeding book's database as a file: opening it, bringing it up to
// date by the migrations/*.sql, telling what is no book or damaged, and copying it. It
// knows no plants or photos; those are the business of package book.
//
// Start with [Header] and [Open].
package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"embed"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"path"
	"path/filepath"
	"strings"

	driver "modernc.org/sqlite"

	"hueward/selection/book/disk"
	"hueward/selection/book/remedy"
)

// What callers branch on. Each comes wrapped, with the place and what to do.
var (
	ErrNoBook  = errors.New("no breeding book")                           // there is none at the place
	ErrNotBook = errors.New("not a breeding book")                        // the file is something else
	ErrNewer   = errors.New("the book is from a newer hueward than this") // its tables are not known here
	ErrDamaged = errors.New("the book is damaged")                        // SQLite finds the file broken
	ErrBusy    = errors.New("the book is busy")                           // another program wrote to it for too long
)

// The parts of a book's folder that are named here.
const (
	FileName      = "book.db"
	BackupsFolder = "backups"
)

// applicationID marks the database file as a breeding book: "hwbk".
const applicationID = 0x6877626b

//go:embed migrations/*.sql
var migrations embed.FS

// newest makes at once what the migrations make of an empty file; TestNewest writes it
// from them and holds it to them. A new book takes a quarter of the time so.
//
//go:embed newest.sql
var newest string

// steps are the migrations in order; the book's version is how many it has had.
func steps() []string {
	names, err := fs.Glob(migrations, "migrations/*.sql") // sorted by name
	if err != nil {
		panic(err) // the pattern is ours
	}
	return names
}

// Versions is how many versions of a book's tables there have been: that of a new one.
func Versions() int { return len(steps()) }

// pageSize is that of a new book; an older one keeps its own. A photo's reading
// takes some kilobytes, and few large pages are written faster than many small ones.
const pageSize = 8192

// Open opens the database file without reading it yet.
func Open(file, mode string) (*sql.DB, error) {
	db, err := connect(file, mode, "foreign_keys(1)")
	if err == nil {
		db.SetMaxOpenConns(4)
		db.SetMaxIdleConns(4) // a new connection reads the whole schema
	}
	return db, err
}

// connect opens the database file. Every connection gets the same pragmas, as they
// are part of its name; they are run in order of their names, the journal's last.
func connect(file, mode string, pragmas ...string) (*sql.DB, error) {
	return openAs(file, url.Values{
		"mode":          {mode},
		"_txlock":       {"immediate"}, // a transaction that reads first would fail when it comes to write
		"_journal_mode": {"WAL"},       // no pragma below: the page's size is settled before it
		"_pragma": append([]string{
			"busy_timeout(15000)",
			fmt.Sprintf("page_size(%d)", pageSize),
			"synchronous(FULL)", // what was said to be kept is on the disk
			"trusted_schema(0)",
			"temp_store(2)", // in memory: triggers of a large import would keep a file for undoing each statement
		}, pragmas...),
	})
}

// openAs opens a database file by a name that says how.
func openAs(file string, how url.Values) (*sql.DB, error) {
	p := filepath.ToSlash(file)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p // C:/book becomes file:///C:/book
	}
	name := url.URL{Scheme: "file", Path: p, RawQuery: how.Encode()}
	return sql.Open("sqlite", name.String())
}

// Header reads the file's first bytes, without SQLite, which would change
// a foreign database by opening it.
//
// Source: SQLite file format, section 1.3: page size at byte 16, size in pages
// at 28, user version at 60, application id at 68.
func Header(file string) error {
	f, err := disk.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return remedy.Step(remedy.NewBook).Errorf("%w there; start one", ErrNoBook)
	}
	if err != nil {
		return err
	}
	defer f.Close()
	var h [100]byte
	n, err := io.ReadFull(f, h[:])
	magic := []byte("SQLite format 3\x00")
	switch {
	case n >= len(magic) && !bytes.Equal(h[:len(magic)], magic):
		return fmt.Errorf("%w: %s is another kind of file", ErrNotBook, FileName)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("%w: %s ends too early; put back a copy from %s", ErrDamaged, FileName, BackupsFolder)
	case err != nil:
		return err
	case binary.BigEndian.Uint32(h[68:]) != applicationID:
		return fmt.Errorf("%w: %s is another program's database", ErrNotBook, FileName)
	}
	if version := int32(binary.BigEndian.Uint32(h[60:])); version < 1 {
		return fmt.Errorf("%w: %s says that it is of version %d; put back a copy from %s", ErrNotBook, FileName, version, BackupsFolder)
	}
	size := int64(binary.BigEndian.Uint16(h[16:]))
	if size == 1 {
		size = 65536
	}
	info, err := f.Stat()
	if err != nil {
		return err
	}
	// A program that was killed while it wrote the -wal file's pages back leaves a
	// file that is too short for its header; SQLite does it again from there.
	switch wal, err := disk.Stat(file + "-wal"); {
	case err == nil && wal.Size() > 0:
		return nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err // it may be there, and the file sound
	}
	if want := size * int64(binary.BigEndian.Uint32(h[28:])); info.Size() < want {
		return fmt.Errorf("%w: %s has %d bytes of %d; put back a copy from %s", ErrDamaged, FileName, info.Size(), want, BackupsFolder)
	}
	return nil
}

// Create makes a new database in a file that is not there yet, whole and closed.
func Create(ctx context.Context, file string) error {
	db, err := Open(file, "rwc")
	if err != nil {
		return err
	}
	if err := makeNewest(ctx, db); err != nil {
		db.Close()
		return Wrap(err)
	}
	return Wrap(db.Close())
}

func makeNewest(ctx context.Context, db *sql.DB) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // no-op after Commit
	if _, err := tx.ExecContext(ctx, newest); err != nil {
		return err
	}
	if err := mark(ctx, tx, Versions()); err != nil {
		return err
	}
	return tx.Commit()
}

// mark writes into the file that it is a book of that version.
func mark(ctx context.Context, tx *sql.Tx, version int) error {
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, version))
	return err
}

// Migrate brings a book's database, that [CheckSchema] found in order, up to date, each
// step in its own transaction. One that is up to date is not locked: reading need not
// wait for a writer.
func Migrate(ctx context.Context, db *sql.DB) error {
	all := steps()
	for {
		if version, err := versionOf(ctx, db); err != nil || version == len(all) {
			return err
		}
		if err := step(ctx, db, all); err != nil {
			return Wrap(err)
		}
	}
}

// step does the next migration, unless another program has done the last.
func step(ctx context.Context, db *sql.DB, all []string) error {
	tx, err := db.BeginTx(ctx, nil) // immediate: another program waits
	if err != nil {
		return err
	}
	defer tx.Rollback() // no-op after Commit
	version, err := versionOf(ctx, tx)
	if err != nil || version == len(all) {
		return err
	}
	if version < 0 || version > len(all) {
		return fmt.Errorf("%w (version %d)", ErrNewer, version)
	}
	text, err := migrations.ReadFile(all[version])
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, string(text)); err != nil {
		return fmt.Errorf("migrate with %s: %w", path.Base(all[version]), err)
	}
	if version+1 == sumsVersion {
		if err := fillSums(ctx, tx); err != nil {
			return err
		}
	}
	if err := mark(ctx, tx, version+1); err != nil {
		return err
	}
	return tx.Commit()
}

// said is an error of SQLite in a grower's words.
type said struct {
	what  string
	kind  error // what callers branch on; may be nil
	cause error
}

func (e *said) Error() string { return e.what }

func (e *said) Unwrap() []error { return []error{e.kind, e.cause} }

// saidBook is said where SQLite meets a disk that fails.
const saidBook = "the book could not be read or written: " + disk.SaidFailed

// Said reports whether the error is one of SQLite's that [Wrap] said in a grower's words.
func Said(err error) bool {
	var s *said
	return errors.As(err, &s)
}

// Wrap says SQLite's errors in a grower's words where there is something to do.
//
// Source: SQLite result codes, primary part in the low byte.
func Wrap(err error) error {
	var e *driver.Error
	var known *said
	if !errors.As(err, &e) || errors.As(err, &known) {
		return err
	}
	say := func(kind error, format string, args ...any) error {
		return &said{fmt.Sprintf(format, args...), kind, err}
	}
	switch e.Code() & 0xff {
	case 5, 6: // BUSY, LOCKED
		return say(ErrBusy, "%v: another program is writing to it; try again when it has finished", ErrBusy)
	case 11, 26: // CORRUPT, NOTADB
		return say(ErrDamaged, "%v: put back a copy from %s", ErrDamaged, BackupsFolder)
	case 13: // FULL
		return say(nil, "%s", disk.SaidFull)
	case 10: // IOERR
		if e.Code() == 4874 { // IOERR_SHMSIZE: SQLite's file beside the database could not grow, and no more than that is said
			return say(nil, "%s", disk.SaidFull)
		}
		return say(nil, saidBook)
	case 19: // CONSTRAINT, by the hook of Begin
		if e.Code() == 531 {
			return say(nil, saidBook)
		}
	case 14: // CANTOPEN
		return say(nil, "the book's files cannot be opened; see who owns its folder, and that the disk is there")
	case 8, 3, 23: // READONLY, PERM, AUTH
		return say(nil, "the book may not be written to; check who owns its folder")
	}
	return err
}
