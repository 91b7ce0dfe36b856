package book

import (
	"errors"
	"fmt"
	"syscall"
)

// diskFull says in a grower's words that the disk is full, where that is the cause.
func diskFull(err error) error {
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Errorf("the disk is full; make room and try again (%w)", err)
	}
	return err
}
