//go:build !linux && !darwin

package disk

import "errors"

func exchange(_, _ string) error { return errors.ErrUnsupported }
