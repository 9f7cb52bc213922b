package store

import (
	"go.etcd.io/bbolt"
	"golang.org/x/sys/unix"
)

// advise tells the kernel how the mapped database is read from now on. A transaction keeps it where
// it is mapped meanwhile. The kernel may ignore it.
func advise(db *bbolt.DB, ahead bool) {
	advice := uintptr(unix.MADV_RANDOM) // as bbolt maps it
	if ahead {
		advice = unix.MADV_NORMAL
	}
	_ = db.View(func(tx *bbolt.Tx) error {
		_, _, _ = unix.Syscall(unix.SYS_MADVISE, db.Info().Data, uintptr(tx.Size()), advice)
		return nil
	})
}
