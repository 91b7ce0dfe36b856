package faulty

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

// SQLite reaches files by a table of functions, its VFS. The one here asks [Folder.ask]
// and then the usual one. Structures are SQLite's own, in memory that Go does not move:
// each open file is our header and then the usual VFS's file.
//
// Source: SQLite, "The OS Backend (VFS)", and its test_vfs.c for the way of wrapping one.

// opGrow is a call that makes shared memory, which is a file, longer.
const opGrow disk.Op = "grow"

// header stands before the usual VFS's file.
type header struct {
	methods uintptr
	file    uintptr // a key of files
}

const headerSize = unsafe.Sizeof(header{})

// opened is an open file of SQLite.
type opened struct {
	name string
	in   *Folder
}

var (
	filesMu sync.Mutex
	files   = map[uintptr]opened{}
	lastKey uintptr

	usual  *sqlite3.Tsqlite3_vfs
	ours   sqlite3.Tsqlite3_vfs
	usualP uintptr
	table  sqlite3.Tsqlite3_io_methods
)

// at is the value at an address.
func at[T any](p uintptr) *T { return *(**T)(unsafe.Pointer(&p)) }

// address is a function's as SQLite's code calls it; fn is of the package's top level.
func address[F any](fn F) uintptr { return *(*uintptr)(unsafe.Pointer(&fn)) }

// function is the function at an address.
func function[F any](p uintptr) F { return *(*F)(unsafe.Pointer(&p)) }

// register puts our VFS in the place of the usual one.
func register() {
	tls := libc.NewTLS()
	usualP = sqlite3.Xsqlite3_vfs_find(tls, 0)
	usual = at[sqlite3.Tsqlite3_vfs](usualP)
	ours = *usual
	ours.FpNext = 0
	name, err := libc.CString("faulty")
	if err != nil {
		panic(err)
	}
	ours.FzName = name
	ours.FszOsFile += int32(headerSize)
	ours.FxOpen, ours.FxDelete, ours.FxAccess, ours.FxFullPathname = address(xOpen), address(xDelete), address(xAccess), address(xFullPathname)
	table = sqlite3.Tsqlite3_io_methods{
		FiVersion: 3, FxClose: address(xClose), FxRead: address(xRead), FxWrite: address(xWrite), FxTruncate: address(xTruncate),
		FxSync: address(xSync), FxFileSize: address(xFileSize), FxLock: address(xLock), FxUnlock: address(xUnlock),
		FxCheckReservedLock: address(xCheckReservedLock), FxFileControl: address(xFileControl), FxSectorSize: address(xSectorSize),
		FxDeviceCharacteristics: address(xDeviceCharacteristics), FxShmMap: address(xShmMap), FxShmLock: address(xShmLock),
		FxShmBarrier: address(xShmBarrier), FxShmUnmap: address(xShmUnmap), FxFetch: address(xFetch), FxUnfetch: address(xUnfetch),
	}
	if rc := sqlite3.Xsqlite3_vfs_register(tls, uintptr(unsafe.Pointer(&ours)), 1); rc != sqlite3.SQLITE_OK {
		panic(rc)
	}
}

// real is the usual VFS's file, and its functions.
func real(file uintptr) (uintptr, *sqlite3.Tsqlite3_io_methods) {
	p := file + headerSize
	return p, at[sqlite3.Tsqlite3_io_methods](at[sqlite3.Tsqlite3_file](p).FpMethods)
}

func of(file uintptr) opened {
	filesMu.Lock()
	defer filesMu.Unlock()
	return files[at[header](file).file]
}

// wrong asks whether the call fails: with code, but with FULL where there is no room.
func (o opened) wrong(op disk.Op, code int32) int32 {
	if o.in == nil {
		return sqlite3.SQLITE_OK
	}
	return rc(o.in.ask(op, o.name), code)
}

func rc(err error, code int32) int32 {
	switch {
	case err == nil:
		return sqlite3.SQLITE_OK
	case errors.Is(err, syscall.ENOSPC) && code != sqlite3.SQLITE_CANTOPEN && code != sqlite3.SQLITE_IOERR_FSYNC:
		return sqlite3.SQLITE_FULL
	}
	return code
}

func xOpen(tls *libc.TLS, _, name, file uintptr, flags int32, out uintptr) int32 {
	at[header](file).methods = 0
	o := opened{}
	if name != 0 {
		o.name = libc.GoString(name)
		o.in = find(o.name)
	}
	op := disk.OpOpen
	if flags&sqlite3.SQLITE_OPEN_CREATE != 0 && (name == 0 || !disk.Exists(o.name)) {
		op = disk.OpCreate
	}
	if code := o.wrong(op, sqlite3.SQLITE_CANTOPEN); code != 0 {
		return code
	}
	open := function[func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32](usual.FxOpen)
	code := open(tls, usualP, name, file+headerSize, flags, out)
	if at[sqlite3.Tsqlite3_file](file+headerSize).FpMethods == 0 {
		return code
	}
	filesMu.Lock()
	defer filesMu.Unlock()
	lastKey++
	files[lastKey] = o
	*at[header](file) = header{uintptr(unsafe.Pointer(&table)), lastKey}
	return code
}

func xDelete(tls *libc.TLS, _, name uintptr, sync int32) int32 {
	if err := ask(disk.OpRemove, libc.GoString(name)); err != nil {
		return rc(err, sqlite3.SQLITE_IOERR_DELETE)
	}
	return function[func(*libc.TLS, uintptr, uintptr, int32) int32](usual.FxDelete)(tls, usualP, name, sync)
}

func xAccess(tls *libc.TLS, _, name uintptr, flags int32, out uintptr) int32 {
	if err := ask(disk.OpLook, libc.GoString(name)); err != nil {
		return rc(err, sqlite3.SQLITE_IOERR_ACCESS)
	}
	return function[func(*libc.TLS, uintptr, uintptr, int32, uintptr) int32](usual.FxAccess)(tls, usualP, name, flags, out)
}

func xFullPathname(tls *libc.TLS, _, name uintptr, n int32, out uintptr) int32 {
	return function[func(*libc.TLS, uintptr, uintptr, int32, uintptr) int32](usual.FxFullPathname)(tls, usualP, name, n, out)
}

func xClose(tls *libc.TLS, file uintptr) int32 {
	filesMu.Lock()
	delete(files, at[header](file).file)
	filesMu.Unlock()
	p, m := real(file)
	return function[func(*libc.TLS, uintptr) int32](m.FxClose)(tls, p)
}

func xRead(tls *libc.TLS, file, buf uintptr, n int32, from int64) int32 {
	if code := of(file).wrong(disk.OpRead, sqlite3.SQLITE_IOERR_READ); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, uintptr, int32, int64) int32](m.FxRead)(tls, p, buf, n, from)
}

func xWrite(tls *libc.TLS, file, buf uintptr, n int32, to int64) int32 {
	if code := of(file).wrong(disk.OpWrite, sqlite3.SQLITE_IOERR_WRITE); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, uintptr, int32, int64) int32](m.FxWrite)(tls, p, buf, n, to)
}

func xTruncate(tls *libc.TLS, file uintptr, size int64) int32 {
	if code := of(file).wrong(disk.OpSet, sqlite3.SQLITE_IOERR_TRUNCATE); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int64) int32](m.FxTruncate)(tls, p, size)
}

func xSync(tls *libc.TLS, file uintptr, flags int32) int32 {
	if code := of(file).wrong(disk.OpSync, sqlite3.SQLITE_IOERR_FSYNC); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32) int32](m.FxSync)(tls, p, flags)
}

func xFileSize(tls *libc.TLS, file, out uintptr) int32 {
	if code := of(file).wrong(disk.OpLook, sqlite3.SQLITE_IOERR_FSTAT); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, uintptr) int32](m.FxFileSize)(tls, p, out)
}

func xLock(tls *libc.TLS, file uintptr, how int32) int32 {
	if code := of(file).wrong("lock", sqlite3.SQLITE_IOERR_LOCK); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32) int32](m.FxLock)(tls, p, how)
}

// Locks are let go of whatever happens, as those of a program that has ended are.
func xUnlock(tls *libc.TLS, file uintptr, how int32) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32) int32](m.FxUnlock)(tls, p, how)
}

func xCheckReservedLock(tls *libc.TLS, file, out uintptr) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, uintptr) int32](m.FxCheckReservedLock)(tls, p, out)
}

func xFileControl(tls *libc.TLS, file uintptr, op int32, arg uintptr) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32, uintptr) int32](m.FxFileControl)(tls, p, op, arg)
}

func xSectorSize(tls *libc.TLS, file uintptr) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr) int32](m.FxSectorSize)(tls, p)
}

func xDeviceCharacteristics(tls *libc.TLS, file uintptr) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr) int32](m.FxDeviceCharacteristics)(tls, p)
}

func xShmMap(tls *libc.TLS, file uintptr, page, size, extend int32, out uintptr) int32 {
	op := disk.OpRead
	if extend != 0 {
		op = opGrow
	}
	if code := of(file).wrong(op, sqlite3.SQLITE_IOERR_SHMMAP); code != 0 {
		return code
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32, int32, int32, uintptr) int32](m.FxShmMap)(tls, p, page, size, extend, out)
}

func xShmLock(tls *libc.TLS, file uintptr, from, n, flags int32) int32 {
	if flags&sqlite3.SQLITE_SHM_UNLOCK == 0 {
		if code := of(file).wrong("lock", sqlite3.SQLITE_IOERR_SHMLOCK); code != 0 {
			return code
		}
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32, int32, int32) int32](m.FxShmLock)(tls, p, from, n, flags)
}

func xShmBarrier(tls *libc.TLS, file uintptr) {
	p, m := real(file)
	function[func(*libc.TLS, uintptr)](m.FxShmBarrier)(tls, p)
}

func xShmUnmap(tls *libc.TLS, file uintptr, remove int32) int32 {
	if of(file).in.dead() {
		remove = 0
	}
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int32) int32](m.FxShmUnmap)(tls, p, remove)
}

func xFetch(tls *libc.TLS, file uintptr, from int64, n int32, out uintptr) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int64, int32, uintptr) int32](m.FxFetch)(tls, p, from, n, out)
}

func xUnfetch(tls *libc.TLS, file uintptr, from int64, mem uintptr) int32 {
	p, m := real(file)
	return function[func(*libc.TLS, uintptr, int64, uintptr) int32](m.FxUnfetch)(tls, p, from, mem)
}
