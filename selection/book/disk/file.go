package disk

import (
	"errors"
	"io/fs"
	"os"
	"time"
)

// All that is done to files of a book, its backups and exports goes through the functions
// here, which are those of package os. A test makes them fail by [Fault].

// Op is a kind of call to the file system.
type Op string

// The calls that a [Fault] is asked about.
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

// Fault is asked, where a test sets it before anything runs, before each call. The call
// is not made where it returns an error; but a file is closed all the same.
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

// File is an open file.
type File struct{ f *os.File }

func opened(f *os.File, err error) (*File, error) {
	if err != nil {
		return nil, plain(err)
	}
	return &File{f}, nil
}

// errNotOrdinary is said of a pipe or a device.
var errNotOrdinary = errors.New("it is not an ordinary file")

// Open opens a file to be read; it refuses pipes and devices.
func Open(name string) (*File, error) {
	if err := fails(OpOpen, name); err != nil {
		return nil, err
	}
	// A pipe would wait for its writer when it is opened.
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() && !info.IsDir() {
		return nil, &fs.PathError{Op: "open", Path: name, Err: errNotOrdinary}
	}
	return opened(os.Open(name))
}

// OpenFile is [os.OpenFile].
func OpenFile(name string, flag int, perm fs.FileMode) (*File, error) {
	if err := fails(OpCreate, name); err != nil {
		return nil, err
	}
	return opened(os.OpenFile(name, flag, perm))
}

// Create is [os.Create].
func Create(name string) (*File, error) {
	return OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o666)
}

// CreateTemp is [os.CreateTemp].
func CreateTemp(dir, pattern string) (*File, error) {
	if err := fails(OpCreate, dir); err != nil {
		return nil, err
	}
	return opened(os.CreateTemp(dir, pattern))
}

// Name is that by which it was opened.
func (f *File) Name() string { return f.f.Name() }

func (f *File) Read(p []byte) (int, error) {
	if err := fails(OpRead, f.Name()); err != nil {
		return 0, err
	}
	n, err := f.f.Read(p)
	return n, plain(err)
}

// ReadAt reads from a place in the file.
func (f *File) ReadAt(p []byte, at int64) (int, error) {
	if err := fails(OpRead, f.Name()); err != nil {
		return 0, err
	}
	n, err := f.f.ReadAt(p, at)
	return n, plain(err)
}

func (f *File) Write(p []byte) (int, error) {
	if err := fails(OpWrite, f.Name()); err != nil {
		return 0, err
	}
	n, err := f.f.Write(p)
	return n, plain(err)
}

// Sync makes what was written last through a power cut.
func (f *File) Sync() error {
	if err := fails(OpSync, f.Name()); err != nil {
		return err
	}
	return plain(f.f.Sync())
}

// Stat tells its size and times.
func (f *File) Stat() (fs.FileInfo, error) {
	if err := fails(OpLook, f.Name()); err != nil {
		return nil, err
	}
	info, err := f.f.Stat()
	return info, plain(err)
}

// Chmod sets its mode.
func (f *File) Chmod(mode fs.FileMode) error {
	if err := fails(OpSet, f.Name()); err != nil {
		return err
	}
	return plain(f.f.Chmod(mode))
}

// Close closes it.
func (f *File) Close() error {
	fault := fails(OpClose, f.Name())
	if err := f.f.Close(); err != nil {
		return plain(err)
	}
	return fault
}

// Mkdir is [os.Mkdir].
func Mkdir(name string, perm fs.FileMode) error {
	if err := fails(OpMkdir, name); err != nil {
		return err
	}
	return plain(os.Mkdir(name, perm))
}

// MkdirAll is [os.MkdirAll].
func MkdirAll(name string, perm fs.FileMode) error {
	if err := fails(OpMkdir, name); err != nil {
		return err
	}
	return plain(os.MkdirAll(name, perm))
}

// MkdirTemp is [os.MkdirTemp].
func MkdirTemp(dir, pattern string) (string, error) {
	if err := fails(OpMkdir, dir); err != nil {
		return "", err
	}
	made, err := os.MkdirTemp(dir, pattern)
	return made, plain(err)
}

// Rename is [os.Rename].
func Rename(from, to string) error {
	if err := fails(OpRename, to); err != nil {
		return err
	}
	return plain(os.Rename(from, to))
}

// Remove is [os.Remove].
func Remove(name string) error {
	if err := fails(OpRemove, name); err != nil {
		return err
	}
	return plain(os.Remove(name))
}

// RemoveAll is [os.RemoveAll].
func RemoveAll(name string) error {
	if err := fails(OpRemove, name); err != nil {
		return err
	}
	return plain(os.RemoveAll(name))
}

// Stat is [os.Stat].
func Stat(name string) (fs.FileInfo, error) {
	if err := fails(OpLook, name); err != nil {
		return nil, err
	}
	info, err := os.Stat(name)
	return info, plain(err)
}

// Lstat is [os.Lstat].
func Lstat(name string) (fs.FileInfo, error) {
	if err := fails(OpLook, name); err != nil {
		return nil, err
	}
	info, err := os.Lstat(name)
	return info, plain(err)
}

// ReadDir is [os.ReadDir].
func ReadDir(name string) ([]fs.DirEntry, error) {
	if err := fails(OpLook, name); err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(name)
	return entries, plain(err)
}

// Chmod is [os.Chmod].
func Chmod(name string, mode fs.FileMode) error {
	if err := fails(OpSet, name); err != nil {
		return err
	}
	return plain(os.Chmod(name, mode))
}

// Chtimes is [os.Chtimes].
func Chtimes(name string, access, written time.Time) error {
	if err := fails(OpSet, name); err != nil {
		return err
	}
	return plain(os.Chtimes(name, access, written))
}
