//go:build linux || darwin || freebsd || netbsd || openbsd

package store

import (
	"errors"
	"os"
	"strconv"
	"syscall"
	"time"

	bolterrors "go.etcd.io/bbolt/errors"
)

// keepsLog reports whether this system keeps a write-ahead log. The log needs an address space in
// which a database can grow without being mapped anew.
const keepsLog = strconv.IntSize == 64

// lock takes the lock of a database's file, the same one that bbolt takes.
func lock(f *os.File, wait time.Duration) error {
	for begun := time.Now(); ; time.Sleep(50 * time.Millisecond) {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EWOULDBLOCK) {
			return err
		}
		if time.Since(begun) > wait {
			return bolterrors.ErrTimeout
		}
	}
}
