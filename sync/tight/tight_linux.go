// Package tight lets a test run where no file can grow beyond a size, as on a disk that is nearly
// full.
package tight

import (
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
)

// Alone runs the test in a process of its own and says whether this is that process: a limit on
// files would meet whatever else this one writes, the log of go test as well. A test returns at
// once where it says no.
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

// RoomFor lets no file of this process grow beyond so many bytes while work runs: a write goes as
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
