package must

import (
	"cmp"
	"os"
)

// Main runs a package's tests, which is what testing.M's Run does, with a folder of their own for temporary files, and removes it
// with all that they, and programs that were killed, left in it. Where TMPDIR does not say where, it lies in memory if there is
// room: what tests write need not outlive a power cut, and to wait for a disk after each change of a book takes a fifth of their
// time.
func Main(run func() int) int {
	dir, err := os.MkdirTemp(cmp.Or(os.Getenv("TMPDIR"), inMemory()), "hueward-test-")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	os.Chmod(dir, 0o755) // some run the program as another user
	os.Setenv("TMPDIR", dir)
	return run()
}
