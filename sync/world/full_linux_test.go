package world

import (
	"errors"
	"os"
	"syscall"
	"time"
)

// fullDisk is an open file whose writes all fail as on a full disk.
type fullDisk struct {
	fd, real int
}

// fill replaces an open file by the system's full device. Memory maps of the file stay.
func fill(f *os.File) (*fullDisk, error) {
	d := &fullDisk{fd: int(f.Fd())}
	var err error
	if d.real, err = syscall.Dup(d.fd); err != nil {
		return nil, err
	}
	full, err := syscall.Open("/dev/full", syscall.O_RDWR|syscall.O_CLOEXEC, 0)
	if err != nil {
		return nil, errors.Join(err, syscall.Close(d.real))
	}
	return d, errors.Join(syscall.Dup3(full, d.fd, syscall.O_CLOEXEC), syscall.Close(full))
}

func (d *fullDisk) free() error {
	return errors.Join(syscall.Dup3(d.real, d.fd, syscall.O_CLOEXEC), syscall.Close(d.real))
}

// processorTime is what this process has used so far. Unlike wall time, it does not depend on what
// else runs.
func processorTime() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		return 0
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}
