package store

import (
	"errors"
	"strings"
	"syscall"
)

// ErrFull is what an Error is where the disk has no room, or no more for this program.
var ErrFull = errors.New("the disk is full")

// Is says that an error of the system for lack of space is ErrFull. The database gives it on as a
// text where it cannot grow a file.
func (e *Error) Is(target error) bool {
	if target != ErrFull || e.Err == nil {
		return false
	}
	for _, no := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		text := e.Err.Error()
		if errors.Is(e.Err, no) || strings.Contains(text, "resize") && strings.HasSuffix(text, no.Error()) {
			return true
		}
	}
	return false
}
