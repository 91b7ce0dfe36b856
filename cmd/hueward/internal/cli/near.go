package cli

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/selection/book"
	"hueward/selection/book/remedy"
)

// How far and how long books are looked for below a folder, and how many are named.
const (
	nearDepth   = 3
	nearFolders = 3000
	nearNamed   = 3
)

// NearBooks are the books in the folders below dir, as paths that begin with dir; of many, the first few.
func NearBooks(dir string) (found []string) {
	folders := 0
	filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return fs.SkipDir
		case !d.IsDir():
			return nil
		case path != dir && strings.HasPrefix(d.Name(), "."):
			return fs.SkipDir
		}
		if folders++; folders > nearFolders || len(found) == nearNamed {
			return fs.SkipAll
		}
		if info, err := os.Stat(filepath.Join(path, book.DBName)); path != dir && err == nil && info.Mode().IsRegular() {
			found = append(found, path)
			return fs.SkipDir
		}
		if rel, err := filepath.Rel(dir, path); err == nil && rel != "." && strings.Count(rel, string(filepath.Separator)) >= nearDepth-1 {
			return fs.SkipDir
		}
		return nil
	})
	return found
}

// noBook is the error that there is no book where one was looked for, with those that may have been meant.
func (a *App) noBook(err error) error {
	if !errors.Is(err, book.ErrNoBook) {
		return err
	}
	from := "."
	if a.BookNamed() {
		from = a.bookNamed()
	}
	near := NearBooks(from)
	if last := a.lastBook(); last != "" && !slices.ContainsFunc(near, func(b string) bool { return sameFolder(b, last) }) {
		near = append(near, last)
	}
	if len(near) == 0 {
		return err
	}
	for i, n := range near {
		near[i] = BookFlag(n)
	}
	text := strings.TrimSuffix(err.Error(), "; start one")
	return remedy.Step(remedy.NewBook).Errorf("%w", &nearError{text + "; perhaps you mean " + strings.Join(near, " or ") +
		"; or start one", err})
}

// nearError is an error with more to say.
type nearError struct {
	text string
	err  error
}

func (e *nearError) Error() string { return e.text }
func (e *nearError) Unwrap() error { return e.err }

// BookFlag is how the book of that folder is named on a command line.
func BookFlag(dir string) string {
	if strings.ContainsFunc(dir, func(r rune) bool { return strings.ContainsRune(" '\"$&;()*?<>|\\`", r) || r < ' ' }) {
		dir = strconv.Quote(dir)
	}
	return "--book " + dir
}

func sameFolder(x, y string) bool {
	a, err1 := os.Stat(x)
	b, err2 := os.Stat(y)
	return err1 == nil && err2 == nil && os.SameFile(a, b)
}

// lastName is the file in the user's cache folder that says which book was used last.
const lastName = "last-book"

// cacheDir is the user's folder for what may be lost; empty: there is none.
func (a *App) cacheDir() string {
	get := func(name string) string { return terminal.Getenv(a.Env, name) }
	switch home := get("HOME"); {
	case runtime.GOOS == "windows":
		return get("LocalAppData")
	case runtime.GOOS == "darwin" && filepath.IsAbs(home):
		return filepath.Join(home, "Library", "Caches")
	case filepath.IsAbs(get("XDG_CACHE_HOME")):
		return get("XDG_CACHE_HOME")
	case filepath.IsAbs(home):
		return filepath.Join(home, ".cache")
	}
	return ""
}

// lastBook is the folder of the book that was used last and is there still; empty: not known.
func (a *App) lastBook() string {
	if a.cacheDir() == "" {
		return ""
	}
	b, err := os.ReadFile(filepath.Join(a.cacheDir(), "hueward", lastName))
	dir := strings.TrimSuffix(string(b), "\n")
	if err != nil || !filepath.IsAbs(dir) {
		return ""
	}
	if info, err := os.Stat(filepath.Join(dir, book.DBName)); err != nil || !info.Mode().IsRegular() {
		return ""
	}
	return dir
}

// noteBook remembers which book was used; where that fails it is not remembered.
func (a *App) noteBook(dir string) {
	if a.cacheDir() == "" || a.lastBook() == dir || strings.ContainsAny(dir, "\n\r") {
		return
	}
	in := filepath.Join(a.cacheDir(), "hueward")
	if os.MkdirAll(in, 0o700) != nil {
		return
	}
	f, err := os.CreateTemp(in, lastName+"-*")
	if err != nil {
		return
	}
	_, err = f.WriteString(dir + "\n")
	if e := f.Close(); err != nil || e != nil || os.Rename(f.Name(), filepath.Join(in, lastName)) != nil {
		os.Remove(f.Name())
	}
}
