package main

import (
	"errors"
	"sync"
	"syscall"
	"unsafe"

	"modernc.org/libc"
	_ "modernc.org/sqlite" // it sets SQLite up
	sqlite3 "modernc.org/sqlite/lib"

	"hueward/selection/book/disk"
)

// SQLite reaches files by a table of functions, its VFS, and each open file by another. Those here ask [faultyFolder.ask]
// and then go on to the usual ones; calls that never fail are the usual ones.
//
// Source: SQLite, "The OS Backend (VFS)", and its test_vfs.c for the way of wrapping one.

// opGrow is a call that makes shared memory, which is a file, longer.
const opGrow disk.Op = "grow"

// openedFile is an open file of SQLite.
type openedFile struct {
	name  string
	in    *faultyFolder
	usual *sqlite3.Tsqlite3_io_methods
}

var (
	openedMu     sync.Mutex
	openedFiles  = map[uintptr]openedFile{}                   // by their addresses
	methodTables = map[uintptr]*sqlite3.Tsqlite3_io_methods{} // ours, by the address of the usual one

	usualVFS *sqlite3.Tsqlite3_vfs
	oursVFS  sqlite3.Tsqlite3_vfs
	usualAt  uintptr
)

// valueAt is the value at an address.
func valueAt[T any](p uintptr) *T { return *(**T)(unsafe.Pointer(&p)) }

// addressOf is a function's as SQLite's code calls it; fn is of the package's top level.
func addressOf[F any](fn F) uintptr { return *(*uintptr)(unsafe.Pointer(&fn)) }

// functionAt is the function at an address.
func functionAt[F any](p uintptr) F { return *(*F)(unsafe.Pointer(&p)) }

// registerVFS puts our VFS in the place of the usual one.
func registerVFS() {
	tls := libc.NewTLS()
	usualAt = sqlite3.Xsqlite3_vfs_find(tls, 0)
	usualVFS = valueAt[sqlite3.Tsqlite3_vfs](usualAt)
	oursVFS = *usualVFS
	oursVFS.FpNext = 0
	name, err := libc.CString("faulty")
	if err != nil {
		panic(err)
	}
	oursVFS.FzName = name
	oursVFS.FxOpen, oursVFS.FxDelete, oursVFS.FxAccess = addressOf(xOpen), addressOf(xDelete), addressOf(xAccess)
	if rc := sqlite3.Xsqlite3_vfs_register(tls, uintptr(unsafe.Pointer(&oursVFS)), 1); rc != sqlite3.SQLITE_OK {
		panic(rc)
	}
}

// methodsFor are our functions in the place of the usual ones; openedMu is locked.
func methodsFor(usual uintptr) uintptr {
	table := methodTables[usual]
	if table == nil {
		table = new(*valueAt[sqlite3.Tsqlite3_io_methods](usual))
		table.FxClose, table.FxRead, table.FxWrite = addressOf(xClose), addressOf(xRead), addressOf(xWrite)
		table.FxTruncate, table.FxSync = addressOf(xTruncate), addressOf(xSync)
		table.FxFileSize, table.FxLock = addressOf(xFileSize), addressOf(xLock)
		table.FxShmMap, table.FxShmLock, table.FxShmUnmap = addressOf(xShmMap), addressOf(xShmLock), addressOf(xShmUnmap)
		methodTables[usual] = table
	}
	return uintptr(unsafe.Pointer(table))
}

func openedAt(file uintptr) openedFile {
	openedMu.Lock()
	defer openedMu.Unlock()
	return openedFiles[file]
}

// wrong asks whether the call fails: with code, but with FULL where there is no room.
func (o openedFile) wrong(op disk.Op, code int32) int32 {
	if o.in == nil {
		return sqlite3.SQLITE_OK
	}
	return codeOf(o.in.ask(op, o.name), code)
}

func codeOf(err error, code int32) int32 {
	switch {
	case err == nil:
		return sqlite3.SQLITE_OK
	case errors.Is(err, syscall.ENOSPC) && code != sqlite3.SQLITE_CANTOPEN && code != sqlite3.SQLITE_IOERR_FSYNC:
		return sqlite3.SQLITE_FULL
	}
	return code
}

func xOpen(tls *libc.TLS, _, name, file uintptr, flags int32, out uintptr) int32 {
	f := valueAt[sqlite3.Tsqlite3_file](file)
	f.FpMethods = 0
	o := openedFile{}
	if name != 0 {
		o.name = libc.GoString(name)
		o.in = watched(o.name)
	}
	op := disk.OpOpen
	if flags&sqlite3.SQLITE_OPEN_CREATE != 0 && (name == 0 || !disk.Exists(o.name)) {
		op = disk.OpCreate
	}
	if code := o.wrong(op, sqlite3.SQLITE_CANTOPEN); code != 0 {
		return code
	}
	open := functionAt[func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32](usualVFS.FxOpen)
	code := open(tls, usualAt, name, file, flags, out)
	if f.FpMethods == 0 {
		return code
	}
	openedMu.Lock()
	defer openedMu.Unlock()
	o.usual = valueAt[sqlite3.Tsqlite3_io_methods](f.FpMethods)
	openedFiles[file] = o
	f.FpMethods = methodsFor(f.FpMethods)
	return code
}

func xDelete(tls *libc.TLS, _, name uintptr, sync int32) int32 {
	if err := askFault(disk.OpRemove, libc.GoString(name)); err != nil {
		return codeOf(err, sqlite3.SQLITE_IOERR_DELETE)
	}
	return functionAt[func(*libc.TLS, uintptr, uintptr, int32) int32](usualVFS.FxDelete)(tls, usualAt, name, sync)
}

func xAccess(tls *libc.TLS, _, name uintptr, flags int32, out uintptr) int32 {
	if err := askFault(disk.OpLook, libc.GoString(name)); err != nil {
		return codeOf(err, sqlite3.SQLITE_IOERR_ACCESS)
	}
	return functionAt[func(*libc.TLS, uintptr, uintptr, int32, uintptr) int32](usualVFS.FxAccess)(tls, usualAt, name, flags, out)
}

func xClose(tls *libc.TLS, file uintptr) int32 {
	o := openedAt(file)
	openedMu.Lock()
	delete(openedFiles, file)
	openedMu.Unlock()
	return functionAt[func(*libc.TLS, uintptr) int32](o.usual.FxClose)(tls, file)
}

func xRead(tls *libc.TLS, file uintptr, buf uintptr, n int32, from int64) int32 {
	o := openedAt(file)
	if code := o.wrong(disk.OpRead, sqlite3.SQLITE_IOERR_READ); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, uintptr, int32, int64) int32](o.usual.FxRead)(tls, file, buf, n, from)
}

func xWrite(tls *libc.TLS, file uintptr, buf uintptr, n int32, to int64) int32 {
	o := openedAt(file)
	if code := o.wrong(disk.OpWrite, sqlite3.SQLITE_IOERR_WRITE); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, uintptr, int32, int64) int32](o.usual.FxWrite)(tls, file, buf, n, to)
}

func xTruncate(tls *libc.TLS, file uintptr, size int64) int32 {
	o := openedAt(file)
	if code := o.wrong(disk.OpSet, sqlite3.SQLITE_IOERR_TRUNCATE); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, int64) int32](o.usual.FxTruncate)(tls, file, size)
}

func xSync(tls *libc.TLS, file uintptr, flags int32) int32 {
	o := openedAt(file)
	if code := o.wrong(disk.OpSync, sqlite3.SQLITE_IOERR_FSYNC); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, int32) int32](o.usual.FxSync)(tls, file, flags)
}

func xFileSize(tls *libc.TLS, file uintptr, out uintptr) int32 {
	o := openedAt(file)
	if code := o.wrong(disk.OpLook, sqlite3.SQLITE_IOERR_FSTAT); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, uintptr) int32](o.usual.FxFileSize)(tls, file, out)
}

// Locks are let go of whatever happens, as those of a program that has ended are.
func xLock(tls *libc.TLS, file uintptr, how int32) int32 {
	o := openedAt(file)
	if code := o.wrong("lock", sqlite3.SQLITE_IOERR_LOCK); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, int32) int32](o.usual.FxLock)(tls, file, how)
}

func xShmMap(tls *libc.TLS, file uintptr, page, size, extend int32, out uintptr) int32 {
	o := openedAt(file)
	op := disk.OpRead
	if extend != 0 {
		op = opGrow
	}
	if code := o.wrong(op, sqlite3.SQLITE_IOERR_SHMMAP); code != 0 {
		return code
	}
	return functionAt[func(*libc.TLS, uintptr, int32, int32, int32, uintptr) int32](o.usual.FxShmMap)(tls, file, page, size, extend, out)
}

func xShmLock(tls *libc.TLS, file uintptr, from, n, flags int32) int32 {
	o := openedAt(file)
	if flags&sqlite3.SQLITE_SHM_UNLOCK == 0 {
		if code := o.wrong("lock", sqlite3.SQLITE_IOERR_SHMLOCK); code != 0 {
			return code
		}
	}
	return functionAt[func(*libc.TLS, uintptr, int32, int32, int32) int32](o.usual.FxShmLock)(tls, file, from, n, flags)
}

func xShmUnmap(tls *libc.TLS, file uintptr, remove int32) int32 {
	o := openedAt(file)
	if o.in.dead() {
		remove = 0
	}
	return functionAt[func(*libc.TLS, uintptr, int32) int32](o.usual.FxShmUnmap)(tls, file, remove)
}
