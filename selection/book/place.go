package book

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"syscall"

	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
)

// ErrOfBook is returned for a file or folder to be written that belongs to a book.
var ErrOfBook = errors.New("belongs to a breeding book")

// Outside follows the links in the name of a file or folder that is to be written and returns its real path; neither it
// nor its folders need exist yet. It returns ErrOfBook if the path belongs to a book: its database, SQLite's files
// beside it, its photos or backups. Names are compared without regard to case, as on many disks.
func Outside(name string) (string, error) {
	at, err := real(name)
	if err != nil {
		return "", fmt.Errorf("%s: %w", name, err)
	}
	for dir := at; filepath.Dir(dir) != dir; {
		part := strings.ToLower(filepath.Base(dir))
		dir = filepath.Dir(dir)
		if !strings.HasPrefix(part, DBName) && part != naming.PhotosFolder && part != BackupsFolder {
			continue
		}
		if info, err := disk.Stat(filepath.Join(dir, DBName)); err == nil && info.Mode().IsRegular() {
			return "", fmt.Errorf("%s: %w, that in %s; name another place", name, ErrOfBook, dir)
		}
	}
	return at, nil
}

// Place returns the folder of the book that dir names: dir itself, or its folder if dir names a file book.db, or, if
// book.db is a link, the folder that the link leads to. The book need not exist yet.
func Place(dir string) (string, error) {
	dir, err := disk.Abs(dir)
	if err != nil {
		return "", err
	}
	info, err := disk.Lstat(dir)
	if err == nil && info.Mode().IsRegular() && filepath.Base(dir) == DBName {
		return filepath.Dir(dir), nil
	}
	for _, name := range [2]string{dir, filepath.Join(dir, DBName)} {
		info, err := disk.Lstat(name)
		if err != nil || info.Mode().Type() != fs.ModeSymlink {
			continue
		}
		to, err := filepath.EvalSymlinks(name)
		switch {
		case err != nil:
			return "", fmt.Errorf("%s is a link to something that is not there; see that its disk is connected, or remove the link", name)
		case name != dir && filepath.Base(to) != DBName:
			return "", fmt.Errorf("%s is a link to %s; copy that file into a folder of its own as %s", name, to, DBName)
		case name != dir:
			return filepath.Dir(to), nil
		}
	}
	return dir, nil
}

// real returns the absolute path with links resolved; the part of it that does not exist yet has none.
func real(name string) (string, error) {
	at, err := disk.Abs(name)
	if err != nil {
		return "", err
	}
	to, err := filepath.EvalSymlinks(at)
	if errors.Is(err, syscall.ENOTDIR) {
		return "", errors.New("there is a file in the way of its folder; name another place")
	}
	var p *fs.PathError
	if err != nil && !errors.As(err, &p) { // the one error that has no path
		return "", errors.New("its links lead in a circle; name the file itself")
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return to, err
	}
	if _, err := disk.Lstat(at); err == nil {
		return "", errors.New("it is a link to something that is not there; name the file itself")
	}
	dir, err := real(filepath.Dir(at))
	return filepath.Join(dir, filepath.Base(at)), err
}
