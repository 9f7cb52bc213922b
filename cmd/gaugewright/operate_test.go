package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"gaugewright/server/copies"

	"filippo.io/age"
)

// testOperate runs a server as its operator does: it fetches figures, takes a scheduled, sealed
// backup and restores it, writes a log for machines, and announces its end before it comes.
func testOperate(t *testing.T, binary string) {
	folder := filepath.Join(t.TempDir(), "copies")
	identity := filepath.Join(t.TempDir(), "identity")
	who, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(identity, []byte(who.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	p := beginLogged(t, &log, binary, "serve", "--new", "--data", filepath.Join(t.TempDir(), "data"), "--addr", "127.0.0.1:0",
		"--metrics-addr", "127.0.0.1:0", "--log", "json", "--log-requests", "--drain", "2s",
		"--backup-folder", folder, "--backup-encrypt-to", who.Recipient().String())
	base := p.said["serving"]
	status, text, header, err := get(http.DefaultClient, base+"/health/ready")
	if err != nil || status != http.StatusOK || !strings.Contains(text, "ready") || header.Get("X-Request-Id") == "" {
		t.Errorf("%d %s %v %v", status, text, header, err)
	}
	figures := strings.Fields(p.said["figures"])[0]
	var taken []copies.Copy
	for end := time.Now().Add(time.Minute); len(taken) == 0 && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		taken, _ = copies.List(folder) // it is made by the server
	}
	if len(taken) != 1 {
		t.Fatal("no backup was taken at the beginning")
	}
	back := exec.Command(
		binary, "restore", "--in", filepath.Join(folder, taken[0].Name), "--identity", identity, "--data",
		filepath.Join(t.TempDir(), "back"),
	)
	if out, err := back.CombinedOutput(); err != nil || !strings.Contains(string(out), "no damage") {
		t.Errorf("the backup does not come back: %v %s", err, out)
	}
	text = ""
	for end := time.Now().Add(time.Minute); !strings.Contains(text, `gaugewright_backups_total{result="success"} 1`) && time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if _, text, _, err = get(http.DefaultClient, figures); err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []string{"gaugewright_journal_entries ", `route="/health/ready",status="200"} 1`, `gaugewright_backups_total{result="success"} 1`} {
		if !strings.Contains(text, want) {
			t.Errorf("the figures lack %s:\n%s", want, text)
		}
	}
	if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	status = http.StatusOK
	for status == http.StatusOK {
		if status, _, _, err = get(http.DefaultClient, base+"/health/ready"); err != nil {
			t.Fatal("it ended before it said so: ", err)
		}
	}
	if err := <-p.end; status != http.StatusServiceUnavailable || err != nil {
		t.Errorf("while it ends: %d; %v", status, err)
	}
	for line := range bytes.Lines(log.Bytes()) {
		var one struct{ Time, Level, Msg string }
		if err := json.Unmarshal(line, &one); err != nil || one.Msg == "" {
			t.Errorf("no line for machines: %s, %v", line, err)
		}
	}
	if !strings.Contains(log.String(), `"msg":"request"`) || !strings.Contains(log.String(), "read back") {
		t.Errorf("logged: %s", log.String())
	}
}
