package disk

import (
	"errors"

	"golang.org/x/sys/unix"
)

func exchange(x, y string) error {
	err := unix.Renameat2(unix.AT_FDCWD, x, unix.AT_FDCWD, y, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.EINVAL) { // some file systems
		return errors.ErrUnsupported
	}
	return err
}
