package store_test

import (
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"

	"gaugewright/sync/store"
)

// TestLittleAddressSpace: if a process may not have the usual address space, a store opens with
// less.
func TestLittleAddressSpace(t *testing.T) {
	const mark = "GAUGEWRIGHT_TEST_LITTLE"
	if os.Getenv(mark) == "" {
		run := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
		run.Env = append(os.Environ(), mark+"=yes")
		if out, err := run.CombinedOutput(); err != nil || !strings.Contains(string(out), "--- PASS: "+t.Name()) {
			t.Errorf("%v\n%s", err, out)
		}
		return
	}
	const most = 3 << 30
	if err := syscall.Setrlimit(syscall.RLIMIT_AS, &syscall.Rlimit{Cur: most, Max: most}); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for i := range 2 {
		s, err := store.OpenWith(dir, quick)
		if err != nil {
			t.Fatal(err)
		}
		add(t, s, made([]string{"a", "b"}[i], "r1", "visit", "", "f", `"value"`, uint64(i)))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := os.Stat(dir + "/" + store.Log); !os.IsNotExist(err) {
		t.Errorf("a store that was closed has a log: %v", err)
	}
}
