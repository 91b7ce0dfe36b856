package book

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/book/remedy"
	"hueward/selection/book/sqlite"
)

// Errors that callers test for with [errors.Is]. Each is wrapped with the place and what to do.
var (
	ErrNoBook    = sqlite.ErrNoBook                      // there is none at the place
	ErrNotBook   = sqlite.ErrNotBook                     // book.db is some other file
	ErrNewer     = sqlite.ErrNewer                       // its tables are not known here
	ErrDamaged   = sqlite.ErrDamaged                     // SQLite finds the file broken
	ErrBusy      = sqlite.ErrBusy                        // another program wrote to it for too long
	ErrExists    = errors.New("already a breeding book") // Create on a book
	ErrNotEmpty  = errors.New("the folder is not empty") // Create on a folder with other things in it
	ErrNotFound  = record.ErrNotFound                    // no such line, season, plant or photo
	ErrDuplicate = record.ErrDuplicate                   // AddPlant, AddLine
	ErrReadOnly  = errors.New("the book is read-only")   // whatever would change it
	ErrMoved     = errors.New("the book's folder was moved, renamed or replaced while it was open")
	ErrChanged   = errors.New("the photo changed while it was measured")
)

// The parts of a book's folder.
const (
	DBName        = sqlite.FileName
	BackupsFolder = sqlite.BackupsFolder // safe copies of it
)

// Options says how to open a book. The zero value, like nil, is the usual case.
type Options struct {
	Now func() time.Time // the clock for "added at"; nil: time.Now
	Who string           // the user's name, for the history of changes
	// Look opens a book to look at it and to change nothing: an older one is brought up to date in a copy.
	Look bool

	// First enters what a new book begins with, before it is there under its name; nil:
	// nothing. Only [Create] calls it.
	First func(b *Book) error
}

// Book is an open breeding book.
type Book struct {
	dir string
	db  *sql.DB
	now func() time.Time
	who string
	mu  *sync.Mutex // one writer at a time within this program

	wrote *atomic.Bool // something was written since the book was opened

	from    sqlite.Querier // what is read from: db, except in Together
	within  *transaction   // nil: each write is a transaction of its own
	command *command       // nil: each write is a change of its own
	request *keptRequest   // nil: no request is to be stored

	file  fs.FileInfo // the database, as it was opened
	still bool        // it may only be read
	temp  string      // the folder of the copy that db is; empty: it is none
}

// Create makes a new book in dir, which must not exist yet, be an empty folder, or hold only what a killed Create
// left behind; dir's parent folders are made as needed. It returns ErrExists if dir holds a book already and
// ErrNotEmpty if it holds anything else. If Create fails, it removes everything that it made.
func Create(ctx context.Context, dir string, opt *Options) (b *Book, err error) {
	var made []string // in order; removed in reverse when something fails
	defer func() {
		for _, name := range slices.Backward(made) {
			if err != nil {
				disk.Remove(name) // only what Create made; a folder only if it is empty
			}
		}
	}()
	to, err := Place(dir)
	if err == nil {
		dir, err = to, create(ctx, to, &made, opt)
	}
	if err != nil {
		return nil, fmt.Errorf("start a book in %q: %w", dir, err)
	}
	return Open(ctx, dir, opt)
}

// create makes a book's folder and its contents, and appends to made what it made, even if it fails.
func create(ctx context.Context, dir string, made *[]string, opt *Options) error {
	whole := filepath.Join(dir, DBName)
	if disk.Exists(whole) {
		return ErrExists
	}
	switch entries, err := disk.ReadDir(dir); {
	case err == nil && len(entries) > 0 && !interrupted(dir, entries):
		return fmt.Errorf("%w; name a new or empty folder", ErrNotEmpty)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	for _, name := range [3]string{"", naming.PhotosFolder, BackupsFolder} {
		var err error
		if *made, err = disk.MakeDirs(filepath.Join(dir, name), *made); err != nil {
			return err
		}
	}
	// book.db comes last and at once: where it is, the book is whole.
	half := whole + ".new"
	*made = append(*made, half, half+"-wal", half+"-shm", half+"-journal")
	sqlite.Remove(half) // of a run that was killed
	if err := sqlite.Create(ctx, half); err != nil {
		return err
	}
	if opt != nil && opt.First != nil {
		if err := first(dir, half, opt); err != nil {
			return err
		}
	}
	// The last to close it writes all into the file; where that fails, part of it is elsewhere.
	if free, err := disk.Free(half + "-wal"); err != nil || !free {
		return errors.New(disk.SaidFailed)
	}
	if err := disk.Rename(half, whole); err != nil {
		return err
	}
	*made = append(*made, whole, whole+"-wal", whole+"-shm")
	disk.SyncDir(dir)
	return nil
}

// interrupted reports whether the folder holds only what a killed [Create] left behind.
func interrupted(dir string, entries []fs.DirEntry) bool {
	for _, e := range entries {
		switch name := e.Name(); {
		case strings.HasPrefix(name, DBName+".new") && e.Type().IsRegular():
		case name == naming.PhotosFolder || name == BackupsFolder:
			if in, err := disk.ReadDir(filepath.Join(dir, name)); err != nil || len(in) > 0 {
				return false
			}
		default:
			return false
		}
	}
	return true
}

// first calls opt.First on a new book whose database still has its temporary name.
func first(dir, file string, opt *Options) (err error) {
	b := newBook(opt)
	b.dir = dir
	if b.db, err = sqlite.Open(file, "rw"); err != nil {
		return err
	}
	b.from = b.db
	return errors.Join(opt.First(b), b.Close())
}

// newBook returns a book without folder and database.
func newBook(opt *Options) *Book {
	b := &Book{now: opt.Now, who: opt.Who, mu: new(sync.Mutex), wrote: new(atomic.Bool)}
	if b.now == nil {
		b.now = time.Now
	}
	return b
}

// Open opens the book in dir. An older book is backed up and then brought up to date, one transaction for each step.
// Open returns ErrNoBook, ErrNotBook, ErrNewer or ErrDamaged. It does not touch a file that is not a book. A book that
// may not be written to is opened for reading; if such a book is also an older one, Open returns ErrReadOnly.
func Open(ctx context.Context, dir string, opt *Options) (*Book, error) {
	opt = cmp.Or(opt, &Options{})
	b := newBook(opt)
	var err error
	if b.dir, err = Place(dir); err == nil {
		dir, err = b.dir, b.open(ctx, opt.Look)
	}
	if err != nil {
		return nil, fmt.Errorf("open the book in %q: %w", dir, err)
	}
	return b, nil
}

func (b *Book) open(ctx context.Context, look bool) (err error) {
	file := filepath.Join(b.dir, DBName)
	if err := sqlite.Header(file); err != nil {
		return err
	}
	if b.still = !disk.Writable(file) || !disk.Writable(b.dir); b.still {
		b.db, b.temp, err = sqlite.OpenStill(ctx, file)
	} else {
		b.db, err = sqlite.Open(file, "rw")
	}
	if err != nil {
		return err
	}
	if err = sqlite.CheckSchema(ctx, b.db); err == nil {
		err = b.upToDate(ctx, look)
	}
	if err == nil {
		b.file, err = disk.Stat(file)
	}
	if b.from = b.db; err != nil {
		b.Close()
		return err
	}
	if b.still = b.still || look; !b.still {
		disk.ClearOld(b.IncomingDir(), "*", b.now().Add(-24*time.Hour)) // younger ones may be another program's
	}
	return nil
}

// upToDate brings an older book up to date, or a copy of it if the book itself must not change.
func (b *Book) upToDate(ctx context.Context, look bool) error {
	version, old, err := sqlite.Old(ctx, b.db)
	switch {
	case err != nil || !old:
		return err
	case look:
		if found, err := sqlite.Integrity(ctx, b.db); err != nil {
			return sqlite.Wrap(err)
		} else if len(found) > 0 {
			return fmt.Errorf("%w: %s; put back a copy from %s", ErrDamaged, found[0], BackupsFolder)
		}
		db, temp, err := sqlite.OpenCopy(ctx, b.db)
		if err != nil {
			return err
		}
		b.Close()
		b.db, b.temp = db, temp
		return nil
	case b.still:
		return fmt.Errorf("%w, and is of version %d, which this hueward would bring to %d; copy its folder to where it may be written to, "+
			"and open it there", ErrReadOnly, version, sqlite.Versions())
	}
	if err := b.beforeMigration(ctx, version); err != nil {
		return err
	}
	return sqlite.Migrate(ctx, b.db)
}

// Find returns the folder of the book that contains start: start itself or the nearest folder above it with a book.db.
// It returns ErrNoBook if there is none.
func Find(start string) (dir string, err error) {
	dir, err = disk.Abs(start)
	if err != nil {
		return "", fmt.Errorf("look for a book from %q: %w", start, err)
	}
	for from := dir; ; {
		if info, err := disk.Stat(filepath.Join(dir, DBName)); err == nil && info.Mode().IsRegular() {
			return dir, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return "", remedy.Step(remedy.NewBook).Errorf("%w in %q or above it; start one", ErrNoBook, from)
		}
		dir = up
	}
}

// Dir returns the book's folder as an absolute path.
func (b *Book) Dir() string { return b.dir }

// As returns the same open book, whose changes are noted under another user's name. It is closed with b.
func (b *Book) As(who string) *Book {
	c := *b
	c.who, c.command, c.request = who, nil, nil
	return &c
}

// OneCommand returns the same open book, but all that is entered through it is noted as one change,
// which [Book.Undo] takes back as a whole. It is closed with b.
func (b *Book) OneCommand() *Book {
	c := *b
	c.command = &command{}
	return &c
}

// command is the change that a book returned by [Book.OneCommand] has made so far.
type command struct {
	change int64    // 0: nothing yet
	what   []string // in words
}

// Entered returns the number of the change that a book returned by [Book.OneCommand] has made so far, or 0 for none.
func (b *Book) Entered() int64 {
	if b.command == nil {
		return 0
	}
	return b.command.change
}

// words returns the descriptions of all that was done.
func (c *command) words() string {
	if n := len(c.what); n > 4 {
		return fmt.Sprintf("%s; %s; … (%d in all)", c.what[0], c.what[1], n)
	}
	return strings.Join(c.what, "; ")
}

// Close closes the book. It may not be used afterwards.
func (b *Book) Close() error {
	err := sqlite.Wrap(b.db.Close())
	if b.temp != "" {
		os.RemoveAll(b.temp)
	}
	return err
}

// Moved returns ErrMoved if another file, or none, has the database's name by now: SQLite would go on reading and
// writing the one that it opened, and what was entered there would be lost.
func (b *Book) Moved() error {
	if b.file == nil { // it is being created
		return nil
	}
	now, err := disk.Stat(filepath.Join(b.dir, DBName))
	switch {
	case errors.Is(err, fs.ErrNotExist), err == nil && !os.SameFile(b.file, now):
		return fmt.Errorf("%w, so nothing was changed; close it, and open it again where it is now", ErrMoved)
	}
	return err
}

// mayWrite returns an error if the book is read-only, or not where it was.
func (b *Book) mayWrite() error {
	if !b.still {
		return b.Moved()
	}
	return fmt.Errorf("%w, so nothing was changed; see who owns %s, or copy that folder to where it may be written to", ErrReadOnly, b.dir)
}

// Wrote reports whether anything was entered since the book was opened.
func (b *Book) Wrote() bool { return b.wrote.Load() }

// Now returns the time by the book's clock.
func (b *Book) Now() time.Time { return b.now() }

// Stamp returns the time by the book's clock in the form that is stored: RFC 3339, UTC.
func (b *Book) Stamp() string { return b.now().UTC().Format(time.RFC3339) }

// Snapshot runs f on a connection that sees the book as it was at one moment, whatever is written meanwhile.
func (b *Book) Snapshot(ctx context.Context, f func(c *sql.Conn) error) error {
	if b.within != nil {
		panic("book: a snapshot within Together would not see what was entered")
	}
	// A read transaction is begun by hand, as database/sql would begin one that writes.
	c, err := b.db.Conn(ctx)
	if err != nil {
		return sqlite.Wrap(err)
	}
	defer c.Close()
	if _, err := c.ExecContext(ctx, "BEGIN DEFERRED"); err != nil {
		return sqlite.Wrap(err)
	}
	defer c.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
	return sqlite.Wrap(f(c))
}

// write runs f in a transaction that holds the book's write lock, within this program and against others; all of f's
// changes are kept, or none. Once the transaction has begun, the end of ctx does not interrupt it.
func (b *Book) write(ctx context.Context, f func(t *record.Tx)) (err error) {
	if err := b.mayWrite(); err != nil {
		return err
	}
	if b.command != nil {
		was := *b.command
		defer func() {
			if err != nil { // the noted change was rolled back with the transaction
				*b.command = was
			}
		}()
	}
	if b.within != nil {
		return b.within.step(ctx, f)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	tx, err := sqlite.Begin(context.WithoutCancel(ctx), b.db)
	if err != nil {
		return sqlite.Wrap(err)
	}
	defer tx.End() // takes back what was not committed
	t := record.NewTx(tx.Tx)
	b.request.begin(t, b.now())
	var last int64
	t.Get("SELECT coalesce(max(id), 0) FROM reading").Into(&last)
	if t.Err() == nil {
		f(t)
	}
	t.Do(sqlite.SumReadings, last)
	if b.command != nil {
		t.Do("UPDATE change_now SET last = ?", b.command.change)
	}
	if t.Err() == nil {
		t.Fail(tx.Commit())
	}
	if err := t.Err(); err != nil {
		return sqlite.Wrap(err)
	}
	b.wrote.Store(true)
	if b.request != nil {
		b.request.kept = true
	}
	return nil
}
