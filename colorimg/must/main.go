package must

import (
	"cmp"
	"os"
)

// Main calls run, which should be the method Run of a testing.M, with a temporary folder for the package's tests. It then removes
// the folder with all that the tests, and programs that were killed, left in it. Where TMPDIR is not set, the folder lies in memory
// if there is room: what tests write need not outlive a power cut, and waiting for a disk after each change of a book takes a fifth
// of their time.
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
