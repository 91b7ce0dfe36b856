//go:build unix

package disk

import "syscall"

// Writable reports whether the file or folder may be written to.
func Writable(name string) bool {
	const write = 2 // W_OK
	return syscall.Access(name, write) == nil
}
