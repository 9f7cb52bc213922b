package store_test

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"

	"gaugewright/sync/store"
)

// alone runs the test in a process of its own and says whether this is that process: a limit on files would meet whatever else this one writes, the log of go test as well.
func alone(t *testing.T) bool {
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

// roomFor lets no file of this process grow beyond so many bytes while work runs: a write goes as far as there is room and then fails, as on a full disk.
func roomFor(t *testing.T, most uint64, work func()) {
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

// TestBlobOnAFullDisk: a blob or a piece that finds no room is refused and says why; nothing half-written counts, and with room it comes through.
func TestBlobOnAFullDisk(t *testing.T) {
	if !alone(t) {
		return
	}
	s := open(t, t.TempDir())
	files := func() (names []string) {
		list, err := os.ReadDir(s.Dir() + "/blobs")
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			names = append(names, e.Name())
		}
		return names
	}
	b := bytes.Repeat([]byte("a photo of a gauge "), 20_000)
	name, total, half := nameOf(b), int64(len(b)), int64(len(b)/2)
	roomFor(t, 100_000, func() {
		if err := s.PutBlob(name, b); !errors.Is(err, store.ErrFull) {
			t.Errorf("whole: %v", err)
		}
	})
	if n, whole, err := s.Arrived(name); n != 0 || whole || err != nil || len(files()) != 0 {
		t.Errorf("%d arrived, whole %v, %v; %v lie there", n, whole, err, files())
	}
	if n, _, err := s.PutPiece(name, 0, total, b[:half]); n != half || err != nil {
		t.Fatalf("%d, %v", n, err)
	}
	roomFor(t, uint64(half)+50_000, func() {
		if n, whole, err := s.PutPiece(name, half, total, b[half:]); n != half || whole || !errors.Is(err, store.ErrFull) {
			t.Errorf("a piece: %d, %v, %v", n, whole, err)
		}
	})
	if n, whole, err := s.Arrived(name); n != half || whole || err != nil {
		t.Errorf("%d arrived, whole %v, %v", n, whole, err)
	}
	if n, whole, err := s.PutPiece(name, half, total, b[half:]); n != total || !whole || err != nil {
		t.Fatalf("%d, %v, %v", n, whole, err)
	}
	if got, err := s.Blob(name); err != nil || !bytes.Equal(got, b) || len(files()) != 1 {
		t.Errorf("%d bytes, %v; %v lie there", len(got), err, files())
	}
}
