//go:build !unix

package disk

import "os"

// Writable reports whether the file or folder may be written to.
func Writable(name string) bool {
	info, err := os.Stat(name)
	return err == nil && (info.IsDir() || info.Mode().Perm()&0o200 != 0)
}
