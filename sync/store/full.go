package store

import (
	"errors"
	"strings"
	"syscall"
)

// ErrFull matches an Error whose cause is that the disk has no room, or no more for this program.
var ErrFull = errors.New("the disk is full")

// Is reports that a system error for lack of space is ErrFull. The database passes it on as text if
// it cannot grow a file.
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
