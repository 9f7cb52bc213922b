package main

import (
	"bufio"
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/sync/store"
)

// TestProgram builds the program and runs it as a user does.
func TestProgram(t *testing.T) {
	binary := filepath.Join(t.TempDir(), "gaugewright")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	t.Run("exit codes", func(t *testing.T) { testExitCodes(t, binary) })
	t.Run("serve and stop", func(t *testing.T) { testServe(t, binary) })
	t.Run("no plant, or a damaged one", func(t *testing.T) { testNoPlant(t, binary) })
	t.Run("figures, health and scheduled backups", func(t *testing.T) { testOperate(t, binary) })
	t.Run("phones without TLS", func(t *testing.T) { testPlainPhone(t, binary) })
}

func testExitCodes(t *testing.T, binary string) {
	var names []string
	for _, d := range calc.Calculations() {
		names = append(names, d.Name)
	}
	gravity := `{"latitude_deg":45}`
	for _, tt := range []struct {
		args, in, env   string
		code            int
		out, complained string // regular expressions
	}{
		{"", "", "", 1, "^$", "usage: gaugewright COMMAND"},
		{"nothing", "", "", 1, "^$", "usage: gaugewright COMMAND"},
		{"version", "", "", 0, `^\d+\.\d+\.\d+(\+[0-9a-f]{7}(\.changed)?)?\n$`, "^$"},
		{"calc --list", "", "", 0, "^" + strings.Join(names, "\n") + "\n$", "^$"},
		{"calc gravity", gravity, "", 0, `^\{.*9\.80\d+.*\}\n$`, "^$"}, // normal gravity at 45° is 9.806 m/s²
		{"calc gravity", `{"latitude_deg":91}`, "", 2, `^\{"error":\{"code":"range"`, "^$"},
		{"calc gravity", `{`, "", 2, `^\{"error":\{"code":"syntax"`, "^$"},
		{"calc nowhere", gravity, "", 1, "^$", `no calculation "nowhere"`},
		{"calc", gravity, "", 1, "^$", `no calculation ""`},
		{"calc gravity --colour", "", "", 2, "^$", "not defined"},
		{
			"calc gravity --lines", gravity + "\n\n{\n" + gravity, "", 0,
			`^(\{.*9\.80\d+.*\}\n)\{"error":.*\n\{.*9\.80\d+.*\}\n$`, "^$",
		},
		{"calc gravity --schema", "", "", 0, `"input"`, "^$"},
		{"plan check --unit kPa --standard 0..700 ../../calc/programme/testdata/programmes/outside_standard.unit.bad.txt", "", "", 2,
			`(?m)^\S+outside_standard\.unit\.bad\.txt:\d+: error: .* \[outside_standard\]\n1 programme checked: 1 error, 0 warnings\n\z`, "^$"},
		{"plan check --unit kPa --standard 0..700 ../../calc/programme/testdata/programmes/outside_standard.unit.good.txt", "", "", 0, `^1 programme checked: 0 errors, 0 warnings\n$`, "^$"},
		{"plan check ../../server/config", "", "", 1, "^$", "no programme lies in this folder"},
		{"serve", "", "", 1, "^$", "--data names no folder"},
		{"serve --data DIR --addr 0.0.0.0:0", "", "", 1, "^$", "from other machines.*--own-ca"},
		{"demo --data DIR --addr :0", "", "", 1, "^$", "from other machines.*--own-ca"},
		{"serve --data DIR", "", "GAUGEWRIGHT_ADRESS=localhost:1", 1, "^$", "GAUGEWRIGHT_ADRESS, which is no option"},
		{
			"serve --data DIR -print-config", "", "GAUGEWRIGHT_FIRST_PASSWORD=not to be seen", 0,
			`(?s)GAUGEWRIGHT_DATA="DIR".*GAUGEWRIGHT_FIRST_PASSWORD="\*+"`, "^$",
		},
		{"serve --colour", "", "", 2, "^$", "not defined"},
	} {
		dir := filepath.Join(t.TempDir(), "none")
		cmd := exec.Command(binary, strings.Fields(strings.ReplaceAll(tt.args, "DIR", dir))...)
		cmd.Stdin = strings.NewReader(tt.in)
		cmd.Env = append(os.Environ(), "HOME=/")
		if tt.env != "" {
			cmd.Env = append(cmd.Env, tt.env)
		}
		var out, complained bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &complained
		var exit *exec.ExitError
		if err := cmd.Run(); err != nil && !errors.As(err, &exit) {
			t.Fatal(err)
		}
		if got := cmd.ProcessState.ExitCode(); got != tt.code {
			t.Errorf("%s: status %d, want %d: %s", tt.args, got, tt.code, complained.String())
		}
		for _, part := range []struct{ want, got string }{{tt.out, strings.ReplaceAll(out.String(), dir, "DIR")}, {tt.complained, complained.String()}} {
			if !regexp.MustCompile(part.want).MatchString(part.got) {
				t.Errorf("%s: want %s, got %s", tt.args, part.want, part.got)
			}
		}
		if strings.Contains(tt.args, "schema") && !json.Valid(out.Bytes()) {
			t.Errorf("%s: no JSON", tt.args)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("%s: made a data folder", tt.args)
		}
	}
}

// program is a started server.
type program struct {
	cmd  *exec.Cmd
	said map[string]string // what was printed, by its first word
	end  chan error
}

// begin starts the server and returns when it serves.
func begin(t *testing.T, binary string, args ...string) *program {
	t.Helper()
	return beginLogged(t, os.Stderr, binary, args...)
}

// beginLogged is begin with the log written elsewhere.
func beginLogged(t *testing.T, log io.Writer, binary string, args ...string) *program {
	t.Helper()
	p := &program{cmd: exec.Command(binary, args...), said: map[string]string{}, end: make(chan error, 1)}
	p.cmd.Stderr = log
	pipe, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.cmd.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Error(err)
		}
	})
	ready := make(chan struct{})
	go func() {
		lines := bufio.NewScanner(pipe)
		for lines.Scan() {
			word, rest, _ := strings.Cut(lines.Text(), " ")
			p.said[word] = rest
			if word == "ready" {
				close(ready)
				break
			}
		}
		_, err := io.Copy(io.Discard, pipe)
		p.end <- errors.Join(err, p.cmd.Wait())
	}()
	select {
	case <-ready:
	case err := <-p.end:
		t.Fatalf("it ended at once: %v %v", err, p.said)
	case <-time.After(time.Minute):
		t.Fatal("it does not say that it is ready")
	}
	return p
}

func (p *program) stop(t *testing.T) {
	t.Helper()
	if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-p.end:
		if err != nil {
			t.Errorf("after SIGTERM: %v", err)
		}
	case <-time.After(time.Minute):
		t.Error("it does not end after SIGTERM")
	}
}

func get(client *http.Client, address string) (status int, text string, header http.Header, err error) {
	res, err := client.Get(address)
	if err != nil {
		return 0, "", nil, err
	}
	b, err := io.ReadAll(res.Body)
	return res.StatusCode, string(b), res.Header, errors.Join(err, res.Body.Close())
}

func testServe(t *testing.T, binary string) {
	dir := filepath.Join(t.TempDir(), "data")
	password := regexp.MustCompile(`password (\S+)$`)
	kept := ""
	for round := range 2 {
		args := []string{"serve", "--data", dir, "--addr", "127.0.0.1:0"}
		if round == 0 {
			args = append(args, "--new")
		}
		p := begin(t, binary, args...)
		base := p.said["serving"]
		if (p.said["NEW,"] != "") != (round == 0) {
			t.Errorf("round %d: of a new plant it says %q", round, p.said["NEW,"])
		}
		if m := password.FindStringSubmatch(p.said["first"]); m != nil {
			kept = m[1]
		} else if round == 0 {
			t.Fatalf("no first log-in: %v", p.said)
		}
		status, text, header, err := get(http.DefaultClient, base+"/api/version")
		if err != nil || status != 200 || !strings.Contains(text, `"calc"`) ||
			header.Get("Strict-Transport-Security") != "" {
			t.Errorf("%d %s %v %v", status, text, header, err)
		}
		res, err := http.Post(
			base+"/api/login", "application/json",
			strings.NewReader(fmt.Sprintf(`{"name":"administrator","password":%q}`, kept)),
		)
		if err != nil {
			t.Fatal(err)
		}
		if err := res.Body.Close(); err != nil || res.StatusCode != 200 {
			t.Errorf("round %d: the first administrator's log-in: %d, %v", round, res.StatusCode, err)
		}
		busy := exec.Command(binary, "users", "list", "--data", dir)
		if out, err := busy.CombinedOutput(); err == nil {
			t.Errorf("a folder that is served was opened a second time: %s", out)
		}
		p.stop(t)
		if _, _, _, err := get(http.DefaultClient, base+"/api/version"); err == nil {
			t.Error("still served after the end")
		}
	}
	if out, err := exec.Command(binary, "check", "--data", dir).CombinedOutput(); err != nil {
		t.Errorf("the folder after two stops: %v %s", err, out)
	}
}

// testNoPlant: the program does not serve a folder that is missing, empty, emptied, truncated or
// damaged. The folder's bytes stay unchanged, and the message says what to do.
func testNoPlant(t *testing.T, program string) {
	whole := filepath.Join(t.TempDir(), "whole")
	s, err := store.Open(whole)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	image, err := os.ReadFile(filepath.Join(whole, store.File))
	if err != nil {
		t.Fatal(err)
	}
	meta := func(n int) []byte { return image[n*os.Getpagesize()+16:] }
	newest := 0
	if binary.LittleEndian.Uint64(meta(1)[48:]) > binary.LittleEndian.Uint64(meta(0)[48:]) {
		newest = 1
	}
	flipped := bytes.Clone(image)
	flipped[newest*os.Getpagesize()+16+50] ^= 1
	for _, tt := range []struct {
		name  string
		image []byte // nil: no database
		more  string
		says  string
	}{
		{"missing", nil, "", "give --new"},
		{"emptied", []byte{}, "", "gaugewright check --data"},
		{"emptied, new", []byte{}, "--new", "gaugewright check --data"},
		{"cut short", image[:3*os.Getpagesize()], "", "gaugewright check --data"},
		{"cut short, gone back", image[:3*os.Getpagesize()], "--fall-back", "gaugewright check --data"},
		{"damaged", flipped, "", "gaugewright check --data"},
		{"there already", image, "--new", "leave --new out"},
	} {
		dir := filepath.Join(t.TempDir(), "data")
		path := filepath.Join(dir, store.File)
		if tt.image != nil {
			if err := errors.Join(os.Mkdir(dir, 0o700), os.WriteFile(path, tt.image, 0o600)); err != nil {
				t.Fatal(err)
			}
		}
		cmd := exec.Command(
			program,
			append([]string{"serve", "--data", dir, "--addr", "127.0.0.1:0"}, strings.Fields(tt.more)...)...,
		)
		out, err := cmd.CombinedOutput()
		if err == nil || !strings.Contains(string(out), tt.says) || strings.Contains(string(out), "serving") {
			t.Errorf("%s: %v %s", tt.name, err, out)
		}
		if got, err := os.ReadFile(path); tt.image != nil && (err != nil || !bytes.Equal(got, tt.image)) {
			t.Errorf("%s: the file was altered, %v", tt.name, err)
		}
		if _, err := os.Stat(dir); tt.image == nil && err == nil {
			t.Errorf("%s: a folder was made", tt.name)
		}
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, store.File), flipped, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(program, "check", "--data", dir).CombinedOutput(); err == nil ||
		!strings.Contains(string(out), "damage: pages: page") {
		t.Errorf("check: %v %s", err, out)
	}
	begin(t, program, "serve", "--data", dir, "--addr", "127.0.0.1:0", "--fall-back").stop(t)
	if out, err := exec.Command(program, "check", "--data", dir).CombinedOutput(); err != nil {
		t.Errorf("after going back: %v %s", err, out)
	}
}

// testPlainPhone comes by plain HTTP to a server with its own authority. The answer says why that
// fails and what to do, and then the phone gets in.
func testPlainPhone(t *testing.T, binary string) {
	p := begin(
		t, binary, "serve", "--new", "--data", t.TempDir(), "--addr", "127.0.0.1:0", "--own-ca",
		"--plain-addr", "127.0.0.1:0",
	)
	defer p.stop(t)
	plain := regexp.MustCompile(`http://\S+`).FindString(p.said["plain"])
	work := p.said["serving"]
	_, port, err := net.SplitHostPort(strings.TrimPrefix(work, "https://"))
	if err != nil {
		t.Fatal(p.said, err)
	}
	status, text, header, err := get(http.DefaultClient, plain+"t/abc")
	if err != nil || status != 200 || header.Get("Strict-Transport-Security") != "" {
		t.Errorf("%d %v %v", status, header, err)
	}
	for _, want := range []string{"You came by plain HTTP", "https://127.0.0.1:" + port + "/", "Get the root certificate", strings.TrimPrefix(p.said["root"], "fingerprint ")} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %s", want, text)
		}
	}
	_, root, _, err := get(http.DefaultClient, plain+"trust/root.crt")
	if err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM([]byte(root)) {
		t.Fatal("no root")
	}
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	defer phone.CloseIdleConnections()
	status, _, header, err = get(phone, work+"/api/version")
	// A host that is known to speak only TLS could never show its trust page again when the root
	// has changed.
	if err != nil || status != 200 || header.Get("Strict-Transport-Security") != "" {
		t.Errorf("with the root: %d %v %v", status, header, err)
	}
}
