package store

import (
	"errors"
	"syscall"
)

// ErrFull is what an Error is where the disk has no room, or no more for this program.
var ErrFull = errors.New("the disk is full")

// Is says that an error of the system for lack of space is ErrFull.
func (e *Error) Is(target error) bool {
	if target != ErrFull {
		return false
	}
	for _, no := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		if errors.Is(e.Err, no) {
			return true
		}
	}
	return false
}
