package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"syscall"

	"hueward/selection/book/disk"
)

// Calls to the file system are made to fail here: those of package disk and those of SQLite, in a folder that is watched, one
// after the other. Start with [watchFaults], before anything is opened in the folder.

// faultKind is what goes wrong.
type faultKind string

// The kinds of fault.
const (
	faultNone  faultKind = "none"  // calls are only counted
	faultError faultKind = "error" // one call fails with EIO; those after it work
	faultFull  faultKind = "full"  // from that call on nothing can be written; the rest works
	faultKill  faultKind = "kill"  // from that call on nothing is done any more, as if the program had ended
)

// faultyFolder is a folder in which calls fail.
type faultyFolder struct {
	dir  string
	kind faultKind
	at   int

	count  sync.Mutex
	calls  int // all of them
	spaced int // of those, the ones that need room
	failed []string
}

var (
	faultyMu      sync.RWMutex
	faultyFolders []*faultyFolder
)

func init() {
	disk.Fault = func(op disk.Op, name string) error { return askFault(op, name) }
	registerVFS()
}

// watchFaults makes the call of that number in dir fail, counted from 1; of a [faultFull] disk the
// calls that need room are counted alone.
func watchFaults(dir string, kind faultKind, at int) *faultyFolder {
	f := &faultyFolder{dir: filepath.Clean(dir), kind: kind, at: at}
	faultyMu.Lock()
	defer faultyMu.Unlock()
	faultyFolders = append(faultyFolders, f)
	return f
}

// End lets all calls work again.
func (f *faultyFolder) End() {
	faultyMu.Lock()
	defer faultyMu.Unlock()
	for i := range faultyFolders {
		if faultyFolders[i] == f {
			faultyFolders = append(faultyFolders[:i:i], faultyFolders[i+1:]...)
			return
		}
	}
}

// Calls are how many calls there were, and how many of them need room.
func (f *faultyFolder) Calls() (all, room int) {
	f.count.Lock()
	defer f.count.Unlock()
	return f.calls, f.spaced
}

// Failed are the calls that failed, in order.
func (f *faultyFolder) Failed() []string {
	f.count.Lock()
	defer f.count.Unlock()
	return f.failed
}

// watched is the folder that the file lies in; nil: none that is watched.
func watched(name string) *faultyFolder {
	faultyMu.RLock()
	defer faultyMu.RUnlock()
	for _, f := range faultyFolders {
		if rest, ok := strings.CutPrefix(name, f.dir); ok && (rest == "" || rest[0] == filepath.Separator || rest[0] == '/') {
			return f
		}
	}
	return nil
}

func askFault(op disk.Op, name string) error {
	f := watched(name)
	if f == nil {
		return nil
	}
	return f.ask(op, name)
}

// dead reports whether nothing is done in the folder any more.
func (f *faultyFolder) dead() bool {
	if f == nil {
		return false
	}
	f.count.Lock()
	defer f.count.Unlock()
	return f.kind == faultKill && f.calls >= f.at
}

func (f *faultyFolder) ask(op disk.Op, name string) error {
	f.count.Lock()
	defer f.count.Unlock()
	f.calls++
	room := op == disk.OpCreate || op == disk.OpWrite || op == disk.OpMkdir || op == disk.OpSync || op == opGrow
	if room {
		f.spaced++
	}
	var err error
	switch {
	case f.kind == faultError && f.calls == f.at, f.kind == faultKill && f.calls >= f.at:
		err = syscall.EIO
	case f.kind == faultFull && room && f.spaced >= f.at:
		err = syscall.ENOSPC
	default:
		return nil
	}
	if len(f.failed) < 20 {
		f.failed = append(f.failed, fmt.Sprintf("%s %s", op, strings.TrimPrefix(name, f.dir)))
	}
	return err
}
