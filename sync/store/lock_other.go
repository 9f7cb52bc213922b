//go:build !(linux || darwin || freebsd || netbsd || openbsd)

package store

import (
	"errors"
	"os"
	"time"
)

// keepsLog says that this system keeps no write-ahead log: each transaction is synced by itself.
const keepsLog = false

func lock(*os.File, time.Duration) error {
	return errors.New("a write-ahead log of another system cannot be read here")
}
