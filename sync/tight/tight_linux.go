// Package tight lets a test run as on a disk that is nearly full: no file can grow beyond a size.
package tight

import (
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
)

// Alone runs the test in a process of its own and reports whether this is that process. A limit on
// file size applies to the whole process, including the log of go test. A test returns at once if
// Alone returns false.
func Alone(t *testing.T) bool {
	t.Helper()
	const mark = "GAUGEWRIGHT_TEST_ALONE"
	if os.Getenv(mark) == t.Name() {
		return true
	}
	run := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	run.Env = append(os.Environ(), mark+"="+t.Name())
	if out, err := run.CombinedOutput(); err != nil || !strings.Contains(string(out), "--- PASS: "+t.Name()) {
		t.Errorf("%v\n%s", err, out)
	}
	return false
}

// RoomFor keeps every file of this process within so many bytes while work runs. A write goes as
// far as there is room and then fails, as on a full disk.
func RoomFor(t *testing.T, most uint64, work func()) {
	t.Helper()
	signal.Ignore(syscall.SIGXFSZ)
	defer signal.Reset(syscall.SIGXFSZ)
	var was syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: most, Max: was.Max}); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
			t.Fatal(err)
		}
	}()
	work()
}
