// Package disk does what the breeding book needs of files: copies that are whole or
// not there at all, synced before they get their name, and known by their SHA-256.
//
// Start with [Receive] to take a file in, and [CopyWhole] to give one out.
package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// Trouble is an error of the system, said in a grower's words.
type Trouble struct {
	what string
	err  error
	one  bool // it is of one file; others may do
}

func (t *Trouble) Error() string { return t.what }
func (t *Trouble) Unwrap() error { return t.err }

// What is said of a disk that is full, and of one that fails.
const (
	SaidFull   = "the disk is full; make room and try again"
	SaidFailed = "the disk failed; see that it is connected and sound, then try again"
)

// plain says the system's errors in a grower's words where there is something to do.
func plain(err error) error {
	if err == nil {
		return nil
	}
	var known *Trouble
	if errors.As(err, &known) {
		return err
	}
	var what string
	one := false
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		what = SaidFull
	case errors.Is(err, syscall.EIO):
		what = SaidFailed
	case errors.Is(err, syscall.EROFS):
		what = "the disk is read-only; name another place"
	case errors.Is(err, syscall.ENAMETOOLONG):
		what, one = "its name is too long; give it a shorter one", true
	case errors.Is(err, syscall.ELOOP):
		what, one = "its links lead in a circle; name the file itself", true
	default:
		return err
	}
	switch e := err.(type) {
	case *fs.PathError:
		return &fs.PathError{Op: e.Op, Path: e.Path, Err: &Trouble{what, e.Err, one}}
	case *os.LinkError:
		return &fs.PathError{Op: e.Op, Path: e.New, Err: &Trouble{what, e.Err, one}}
	}
	return &Trouble{what, err, one}
}

// InTrouble reports whether the error is that of a disk which is full or fails: one that would meet every file.
func InTrouble(err error) bool {
	var t *Trouble
	return errors.As(err, &t) && !t.one
}

// Abs is [filepath.Abs]; its error says what to do.
func Abs(name string) (string, error) {
	abs, err := filepath.Abs(name)
	if err != nil {
		return "", errors.New("the folder that you work in is gone; change to another")
	}
	return abs, nil
}

// Exists reports whether there is anything of that name.
func Exists(file string) bool {
	_, err := Lstat(file)
	return err == nil
}

// Free reports whether there is nothing of that name.
func Free(file string) (bool, error) {
	_, err := Lstat(file)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	return false, err
}

// FreeName is stem with the ending, or with -2, -3, … before it, of which there is nothing yet.
func FreeName(stem, ending string) (string, error) {
	name := stem + ending
	for i := 2; ; i++ {
		if free, err := Free(name); err != nil || free {
			return name, err
		}
		name = fmt.Sprintf("%s-%d%s", stem, i, ending)
	}
}

// SyncDir makes a rename in dir last through a power cut, where the system
// can; not all can sync a folder, and then there is nothing to do.
func SyncDir(dir string) {
	if d, err := Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}

// MakeDirs makes dir and its missing parents and appends those it made, also when it fails.
func MakeDirs(dir string, made []string) ([]string, error) {
	if info, err := Stat(dir); err == nil {
		if !info.IsDir() {
			return made, &fs.PathError{Op: "mkdir", Path: dir, Err: errors.New("a file of that name is in the way")}
		}
		return made, nil
	}
	if parent := filepath.Dir(dir); parent != dir {
		var err error
		if made, err = MakeDirs(parent, made); err != nil {
			return made, err
		}
	}
	err := Mkdir(dir, 0o777)
	if err == nil {
		made = append(made, dir)
	} else if errors.Is(err, fs.ErrExist) {
		err = nil
	}
	return made, err
}

// ClearOld removes the files in dir of names like the pattern that were last written
// before the time: what interrupted runs left.
func ClearOld(dir, pattern string, before time.Time) {
	entries, err := ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		like, _ := filepath.Match(pattern, e.Name())
		if info, err := e.Info(); err == nil && like && info.ModTime().Before(before) {
			Remove(filepath.Join(dir, e.Name()))
		}
	}
}
