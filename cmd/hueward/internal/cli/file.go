package cli

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"hueward/selection/book"
	"hueward/selection/book/disk"
)

// Output writes what a command makes into the file of that name, see [WriteFile], or
// to standard output when the name is "-"; toFile says which.
func (a *App) Output(name string, k Kind, write func(io.Writer) error) (toFile bool, err error) {
	if name != "-" {
		return true, WriteFile(name, k, write)
	}
	var whole bytes.Buffer
	if err := write(&whole); err != nil {
		return false, err
	}
	_, err = whole.WriteTo(a.Stdout.Data())
	return false, err
}

// CheckOutput says before any work whether [App.Output] would refuse the name that flag was given.
func (a *App) CheckOutput(flag, name string, k Kind) error {
	switch {
	case name == "":
		return Usagef(`--%s "": want a file name, or - for standard output`, flag)
	case name == "-" && k.binary && a.Stdout.Terminal:
		return Usagef("--%s -: %s does not belong on a terminal; send it to a file", flag, k.what)
	case name == "-":
		return nil
	}
	_, err := writable(name, k)
	return err
}

// CheckFile says before any work whether [WriteFile] would refuse a file whose folders need not be there yet.
func CheckFile(name string, k Kind) error {
	if _, err := disk.Stat(filepath.Dir(name)); err != nil {
		_, err = book.Outside(name)
		return err
	}
	_, err := writable(name, k)
	return err
}

// WriteFile writes a file beside its place, then renames it: nobody sees it half-written, and a failure leaves what was
// there before. It takes the place of nothing but an earlier file of that kind, by content, and never that of a file of
// a book, a folder, a device or a pipe. The error is a line that says what to do.
func WriteFile(name string, k Kind, write func(io.Writer) error) (err error) {
	at, err := writable(name, k)
	if err != nil {
		return err
	}
	f, err := disk.CreateTemp(filepath.Dir(at), ".hueward-*")
	if err != nil {
		return cannotWrite(name, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			disk.Remove(f.Name())
			err = cannotWrite(name, err)
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	mode := fs.FileMode(0o644)
	if info, err := disk.Stat(at); err == nil {
		mode = info.Mode().Perm()
	}
	if err := cmp.Or(f.Chmod(mode), f.Sync(), f.Close()); err != nil {
		return err
	}
	if at, err = writable(name, k); err != nil { // what came there meanwhile stays, too
		return err
	}
	return disk.Rename(f.Name(), at)
}

// writable returns the place of a file to be written, links followed, or says why nothing may be written there.
func writable(name string, k Kind) (string, error) {
	if strings.TrimSpace(name) == "" || os.IsPathSeparator(name[len(name)-1]) {
		return "", refused("%q is not a file name; name a file", name)
	}
	// Before the links are followed: a link such as /dev/stdout leads to a pipe that has no name.
	info, err := disk.Stat(name)
	switch {
	case err != nil:
	case info.IsDir():
		return "", refused("%s is a folder; name a file in it", name)
	case !info.Mode().IsRegular():
		return "", refused("%s is not an ordinary file; name another, or write to standard output with -", name)
	}
	at, err := book.Outside(name)
	if err != nil {
		return "", refused("%w", err)
	}
	if info == nil {
		if dir, err := disk.Stat(filepath.Dir(at)); err == nil && !dir.IsDir() {
			return "", refused("%s: %s is not a folder; name another", name, filepath.Dir(at))
		} else if errors.Is(err, fs.ErrNotExist) {
			return "", refused("%s: there is no folder %s; make it first, or name another", name, filepath.Dir(name))
		}
		return at, nil
	}
	if info.Mode().Perm()&0o200 == 0 {
		return "", refused("%s is write-protected; name another file", name)
	}
	f, err := disk.Open(at)
	if err != nil {
		return "", cannotWrite(name, err)
	}
	defer f.Close()
	if !k.own(f, info.Size()) {
		return "", refused("%s is there already, and is not %s that hueward wrote; name another file, or remove it first", name, k.what)
	}
	return at, nil
}

// refusedError is a whole line.
type refusedError struct{ error }

func (e refusedError) Unwrap() error { return e.error }

func refused(format string, args ...any) error { return refusedError{fmt.Errorf(format, args...)} }

// cannotWrite says in a grower's words why the file of that name was not written.
func cannotWrite(name string, err error) error {
	var whole refusedError
	switch {
	case errors.As(err, &whole):
		return err
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("write %s: the disk is full; make room and try again", name)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("write %s: nothing may be written there; name another place", name)
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		return fmt.Errorf("write %s: %s; name another place", name, ReasonOf(err))
	}
	return fmt.Errorf("write %s: %w", name, err)
}
