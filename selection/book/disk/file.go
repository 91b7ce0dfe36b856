package disk

import (
	"cmp"
	"errors"
	"io/fs"
	"os"
	"time"
)

// All access to the files of a book, its backups and exports goes through the functions
// here, which wrap those of package os, so that a test can make them fail by [Fault].

// Op is a kind of call to the file system.
type Op string

// The kinds of call that a [Fault] is asked about.
const (
	OpOpen   Op = "open"
	OpCreate Op = "create" // of a file, or opening one to be written
	OpRead   Op = "read"
	OpWrite  Op = "write"
	OpSync   Op = "sync"
	OpClose  Op = "close"
	OpRename Op = "rename"
	OpRemove Op = "remove"
	OpMkdir  Op = "mkdir"
	OpLook   Op = "look" // at a file's or folder's size, times or names
	OpSet    Op = "set"  // a file's mode or times
)

// Fault is called before each access to a file, if a test sets it. If it returns an error,
// that is returned in place of the access, except that a file is closed anyway.
var Fault func(op Op, name string) error

func fails(op Op, name string) error {
	if Fault == nil {
		return nil
	}
	if err := Fault(op, name); err != nil {
		return plain(&fs.PathError{Op: string(op), Path: name, Err: err})
	}
	return nil
}

// try makes the call, or returns the error of [Fault].
func try[T any](op Op, name string, call func() (T, error)) (v T, err error) {
	if err := fails(op, name); err != nil {
		return v, err
	}
	v, err = call()
	return v, plain(err)
}

// try1 is [try] for a call that returns only an error.
func try1(op Op, name string, call func() error) error {
	_, err := try(op, name, func() (struct{}, error) { return struct{}{}, call() })
	return err
}

// File is an open file.
type File struct{ f *os.File }

func open(op Op, name string, call func() (*os.File, error)) (*File, error) {
	f, err := try(op, name, call)
	if err != nil {
		return nil, err
	}
	return &File{f}, nil
}

// errNotOrdinary is said of a pipe or a device.
var errNotOrdinary = errors.New("it is not an ordinary file")

// Open opens a file to be read; it refuses pipes and devices.
func Open(name string) (*File, error) {
	return open(OpOpen, name, func() (*os.File, error) {
		// A pipe would wait for its writer when it is opened.
		if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() && !info.IsDir() {
			return nil, &fs.PathError{Op: "open", Path: name, Err: errNotOrdinary}
		}
		return os.Open(name)
	})
}

// OpenFile is [os.OpenFile].
func OpenFile(name string, flag int, perm fs.FileMode) (*File, error) {
	return open(OpCreate, name, func() (*os.File, error) { return os.OpenFile(name, flag, perm) })
}

// Create is [os.Create].
func Create(name string) (*File, error) {
	return OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o666)
}

// CreateTemp is [os.CreateTemp].
func CreateTemp(dir, pattern string) (*File, error) {
	return open(OpCreate, dir, func() (*os.File, error) { return os.CreateTemp(dir, pattern) })
}

// Name returns the name by which the file was opened.
func (f *File) Name() string { return f.f.Name() }

func (f *File) Read(p []byte) (int, error) {
	return try(OpRead, f.Name(), func() (int, error) { return f.f.Read(p) })
}

// ReadAt is [os.File.ReadAt].
func (f *File) ReadAt(p []byte, at int64) (int, error) {
	return try(OpRead, f.Name(), func() (int, error) { return f.f.ReadAt(p, at) })
}

func (f *File) Write(p []byte) (int, error) {
	return try(OpWrite, f.Name(), func() (int, error) { return f.f.Write(p) })
}

// Sync is [os.File.Sync]: what was written survives a power cut.
func (f *File) Sync() error { return try1(OpSync, f.Name(), f.f.Sync) }

// Finish syncs and closes the file.
func (f *File) Finish() error { return cmp.Or(f.Sync(), f.Close()) }

// Stat is [os.File.Stat].
func (f *File) Stat() (fs.FileInfo, error) { return try(OpLook, f.Name(), f.f.Stat) }

// Chmod is [os.File.Chmod].
func (f *File) Chmod(mode fs.FileMode) error {
	return try1(OpSet, f.Name(), func() error { return f.f.Chmod(mode) })
}

// Close is [os.File.Close].
func (f *File) Close() error {
	fault := fails(OpClose, f.Name())
	if err := f.f.Close(); err != nil {
		return plain(err)
	}
	return fault
}

// Functions of package os of the same names.
var (
	Stat      = named(OpLook, os.Stat)
	Lstat     = named(OpLook, os.Lstat)
	ReadDir   = named(OpLook, os.ReadDir)
	Remove    = done(OpRemove, os.Remove)
	RemoveAll = done(OpRemove, os.RemoveAll)
	Mkdir     = doneBy(OpMkdir, os.Mkdir)
	MkdirAll  = doneBy(OpMkdir, os.MkdirAll)
	Chmod     = doneBy(OpSet, os.Chmod)
)

func named[T any](op Op, call func(name string) (T, error)) func(string) (T, error) {
	return func(name string) (T, error) { return try(op, name, func() (T, error) { return call(name) }) }
}

func done(op Op, call func(name string) error) func(string) error {
	return func(name string) error { return try1(op, name, func() error { return call(name) }) }
}

func doneBy(op Op, call func(name string, perm fs.FileMode) error) func(string, fs.FileMode) error {
	return func(name string, perm fs.FileMode) error {
		return try1(op, name, func() error { return call(name, perm) })
	}
}

// MkdirTemp is [os.MkdirTemp].
func MkdirTemp(dir, pattern string) (string, error) {
	return try(OpMkdir, dir, func() (string, error) { return os.MkdirTemp(dir, pattern) })
}

// Rename is [os.Rename].
func Rename(from, to string) error {
	return try1(OpRename, to, func() error { return os.Rename(from, to) })
}

// Chtimes is [os.Chtimes].
func Chtimes(name string, access, written time.Time) error {
	return try1(OpSet, name, func() error { return os.Chtimes(name, access, written) })
}

// Exchange swaps the names of two folders of one file system atomically. It returns
// [errors.ErrUnsupported] if the system cannot.
func Exchange(x, y string) error {
	return try1(OpRename, y, func() error { return exchange(x, y) })
}
