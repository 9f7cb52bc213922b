package store_test

import (
	"os"
	"syscall"
	"testing"
)

// fullDevice replaces an open file by the system's full device until free is called.
func fullDevice(t *testing.T, f *os.File) (free func()) {
	t.Helper()
	fd := int(f.Fd())
	kept, err := syscall.Dup(fd)
	if err != nil {
		t.Fatal(err)
	}
	full, err := os.OpenFile("/dev/full", os.O_RDWR, 0)
	if err != nil {
		t.Skip(err)
	}
	if err := syscall.Dup3(int(full.Fd()), fd, syscall.O_CLOEXEC); err != nil {
		t.Fatal(err)
	}
	if err := full.Close(); err != nil {
		t.Fatal(err)
	}
	return func() {
		t.Helper()
		if err := syscall.Dup3(kept, fd, syscall.O_CLOEXEC); err != nil {
			t.Fatal(err)
		}
		if err := syscall.Close(kept); err != nil {
			t.Fatal(err)
		}
	}
}
