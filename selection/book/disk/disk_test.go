package disk

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
	"testing"
)

// Errors of the system are said in a grower's words; which of them would meet every file,
// and so end the work, differs.
func TestPlain(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		err  syscall.Errno
		want string
		all  bool
	}{
		{syscall.ENOSPC, SaidFull, true}, {syscall.EIO, SaidFailed, true}, {syscall.EROFS, "the disk is read-only; name another place", true},
		{syscall.ENAMETOOLONG, "its name is too long; give it a shorter one", false},
		{syscall.ELOOP, "its links lead in a circle; name the file itself", false}, {syscall.EACCES, syscall.EACCES.Error(), false},
	} {
		for _, err := range []error{&fs.PathError{Op: "mkdir", Path: "x", Err: c.err},
			&os.LinkError{Op: "rename", Old: "y", New: "x", Err: c.err}} {
			got := plain(err)
			var p *fs.PathError
			if errors.As(got, &p) && p.Err.Error() != c.want || !errors.Is(got, c.err) || InTrouble(got) != c.all {
				t.Errorf("%v: %v, %v; want %q, %v", err, got, InTrouble(got), c.want, c.all)
			}
		}
	}
}
