package disk

import "golang.org/x/sys/unix"

func exchange(x, y string) error { return unix.RenamexNp(x, y, unix.RENAME_SWAP) }
