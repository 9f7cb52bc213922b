package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"syscall"
	"testing"
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

// TestBlobForAFullDisk: 507 with a code and no word of the server's folders; nothing of it counts, and with room the same blob comes through.
func TestBlobForAFullDisk(t *testing.T) {
	if !alone(t) {
		return
	}
	p := newPlant(t)
	photo := strings.Repeat("photo ", 50_000)
	sum := sha256.Sum256([]byte(photo))
	path := "/api/blobs/" + hex.EncodeToString(sum[:])
	signal.Ignore(syscall.SIGXFSZ)
	defer signal.Reset(syscall.SIGXFSZ)
	var was syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		t.Fatal(err)
	}
	limit := func(r syscall.Rlimit) {
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &r); err != nil {
			t.Fatal(err)
		}
	}
	limit(syscall.Rlimit{Cur: 100_000, Max: was.Max}) // no file grows beyond, as on a disk that is nearly full
	a := p.do("technician", "PUT", path, photo)
	limit(was)
	if a.status != 507 || !strings.Contains(string(a.body), `"code":"full"`) || strings.Contains(string(a.body), "blobs") {
		t.Errorf("%d %s", a.status, a.body)
	}
	if head := p.do("technician", "HEAD", path, ""); head.status != 404 || head.header.Get("Blob-Arrived") != "0" {
		t.Errorf("%d, %s arrived", head.status, head.header.Get("Blob-Arrived"))
	}
	if a := p.do("technician", "PUT", path, photo); a.status != 204 {
		t.Errorf("with room: %d %s", a.status, a.body)
	}
	if a := p.do("technician", "GET", path, ""); string(a.body) != photo {
		t.Errorf("%d, %d bytes", a.status, len(a.body))
	}
}
