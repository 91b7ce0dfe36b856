// Package faulty makes calls to the file system fail in tests: those of package disk and
// those of SQLite, in a folder that is watched, one after the other.
//
// Start with [Watch], before anything is opened in the folder.
package faulty

import (
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"syscall"

	"hueward/selection/book/disk"
)

// Kind is what goes wrong.
type Kind string

// The kinds of fault.
const (
	None  Kind = "none"  // calls are only counted
	Error Kind = "error" // one call fails with EIO; those after it work
	Full  Kind = "full"  // from that call on nothing can be written; the rest works
	Kill  Kind = "kill"  // from that call on nothing is done any more, as if the program had ended
)

// Folder is a folder in which calls fail.
type Folder struct {
	dir  string
	kind Kind
	at   int

	mu     sync.Mutex
	calls  int // all of them
	spaced int // of those, the ones that need room
	failed []string
}

var (
	mu      sync.RWMutex
	folders []*Folder
)

func init() {
	disk.Fault = func(op disk.Op, name string) error { return ask(op, name) }
	register()
}

// Watch makes the call of that number in dir fail, counted from 1; of a [Full] disk the
// calls that need room are counted alone.
func Watch(dir string, kind Kind, at int) *Folder {
	f := &Folder{dir: filepath.Clean(dir), kind: kind, at: at}
	mu.Lock()
	defer mu.Unlock()
	folders = append(folders, f)
	return f
}

// End lets all calls work again.
func (f *Folder) End() {
	mu.Lock()
	defer mu.Unlock()
	for i := range folders {
		if folders[i] == f {
			folders = append(folders[:i:i], folders[i+1:]...)
			return
		}
	}
}

// Calls are how many calls there were, and how many of them need room.
func (f *Folder) Calls() (all, room int) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.calls, f.spaced
}

// Failed are the calls that failed, in order.
func (f *Folder) Failed() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.failed
}

// find is the folder that the file lies in; nil: none that is watched.
func find(name string) *Folder {
	mu.RLock()
	defer mu.RUnlock()
	for _, f := range folders {
		if rest, ok := strings.CutPrefix(name, f.dir); ok && (rest == "" || rest[0] == filepath.Separator || rest[0] == '/') {
			return f
		}
	}
	return nil
}

func ask(op disk.Op, name string) error {
	f := find(name)
	if f == nil {
		return nil
	}
	return f.ask(op, name)
}

// dead reports whether nothing is done in the folder any more.
func (f *Folder) dead() bool {
	if f == nil {
		return false
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.kind == Kill && f.calls >= f.at
}

func (f *Folder) ask(op disk.Op, name string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.calls++
	room := op == disk.OpCreate || op == disk.OpWrite || op == disk.OpMkdir || op == disk.OpSync || op == opGrow
	if room {
		f.spaced++
	}
	var err error
	switch {
	case f.kind == Error && f.calls == f.at, f.kind == Kill && f.calls >= f.at:
		err = syscall.EIO
	case f.kind == Full && room && f.spaced >= f.at:
		err = syscall.ENOSPC
	default:
		return nil
	}
	if len(f.failed) < 20 {
		f.failed = append(f.failed, fmt.Sprintf("%s %s", op, strings.TrimPrefix(name, f.dir)))
	}
	return err
}
