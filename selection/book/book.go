package book

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"time"
)

// What callers branch on. Each comes wrapped, with the place and what to do.
var (
	ErrNoBook    = errors.New("no breeding book")                   // there is none at the place
	ErrExists    = errors.New("already a breeding book")            // Create on a book
	ErrNotEmpty  = errors.New("folder is not empty")                // Create on a folder with other things in it
	ErrNotBook   = errors.New("not a breeding book")                // book.db is some other file
	ErrNewer     = errors.New("book of a newer version of hueward") // its tables are not known here
	ErrDamaged   = errors.New("book is damaged")                    // SQLite finds the file broken
	ErrNotFound  = errors.New("not in the book")                    // no such line, season, plant or photo
	ErrDuplicate = errors.New("already in the book")                // AddPlant, AddLine
)

// Options says how to open a book. The zero value, like nil, is the usual case.
type Options struct {
	Now func() time.Time // the clock for "added at"; nil: time.Now
}

// Book is an open breeding book.
type Book struct {
	dir string
	db  *sql.DB
	now func() time.Time
	mu  sync.Mutex // one writer at a time within this program
}

// Create starts a new book in dir, which must not exist yet or be empty.
func Create(ctx context.Context, dir string, opt *Options) (*Book, error) { panic("not yet") }

// Open opens the book in dir.
func Open(ctx context.Context, dir string, opt *Options) (*Book, error) { panic("not yet") }

// Find returns the folder of the book that start lies in, walking up from it.
func Find(start string) (dir string, err error) { panic("not yet") }

// Dir is the book's folder.
func (b *Book) Dir() string { return b.dir }

// Close closes the book.
func (b *Book) Close() error { return b.db.Close() }
