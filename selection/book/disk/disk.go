// Package disk does what the breeding book needs of files: copies that are whole or
// not there at all, synced before they get their name, and known by their SHA-256.
//
// Start with [Receive] to take a file in, and [CopyWhole] to give one out.
package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"syscall"
	"time"
)

// Full says in a grower's words that the disk is full, where that is the cause.
func Full(err error) error {
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("the disk is full; make room and try again (%w)", err)
	}
	return err
}

// Exists reports whether there is anything of that name.
func Exists(file string) bool {
	_, err := Lstat(file)
	return err == nil
}

// SyncDir makes a rename in dir last through a power cut, where the system
// can; not all can sync a folder, and then there is nothing to do.
func SyncDir(dir string) {
	if d, err := Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}

// MakeDirs makes dir and its missing parents and appends those it made, also when it
// fails.
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
