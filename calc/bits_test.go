package calc_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
)

// cases returns how many documents each calculation runs on each machine: BITS in the environment,
// else a small number for every test run.
func cases(t *testing.T) int {
	s := os.Getenv("BITS")
	if s == "" {
		return 20
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 {
		t.Fatalf("BITS=%q is not a number of cases", s)
	}
	return n
}

// emulated is the most documents for a processor that is emulated, ten to thirty times slower.
const emulated = 10000

// bits builds programs and compares the digests of their replies.
type bits struct {
	root, dir, native string
	want              map[string]string // by "CALCULATION FIRST COUNT"
}

// build makes the digest program for another machine, once.
func (b *bits) build(t *testing.T, name string, env ...string) string {
	t.Helper()
	file := filepath.Join(b.dir, name)
	b.run(t, env, "go", "build", "-o", file, "./calc/internal/bitdigest")
	return file
}

func (b *bits) run(t *testing.T, env []string, argv ...string) string {
	t.Helper()
	cmd := exec.Command(argv[0], argv[1:]...)
	cmd.Dir, cmd.Env = b.root, append(append(os.Environ(), "CGO_ENABLED=0"), env...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%.2000s", strings.Join(argv, " "), err, stderr.Bytes())
	}
	return string(out)
}

// through pipes the documents of every calculation through another program.
func (b *bits) through(t *testing.T, n int, argv ...string) string {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	source := exec.CommandContext(ctx, b.native, "documents", "1", strconv.Itoa(n))
	sink := exec.CommandContext(ctx, argv[0], argv[1:]...)
	sink.Dir = filepath.Join(b.root, "webapp")
	var err error
	if sink.Stdin, err = source.StdoutPipe(); err != nil {
		t.Fatal(err)
	}
	var out, complaints bytes.Buffer
	sink.Stdout, sink.Stderr = &out, &complaints
	if err := source.Start(); err != nil {
		t.Fatal(err)
	}
	if err := sink.Run(); err != nil {
		t.Fatalf("%s: %v\n%.2000s", strings.Join(argv, " "), err, complaints.Bytes())
	}
	if err := source.Wait(); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func blocks(t *testing.T, text string) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		f := strings.Fields(line)
		if len(f) != 5 {
			t.Fatalf("a line of digests reads %q", line)
		}
		all[strings.Join(f[:3], " ")] = f[3] + " " + f[4]
	}
	return all
}

// compare compares digests with the native ones; got is for the first n documents of each
// calculation.
func (b *bits) compare(t *testing.T, n int, got string) {
	t.Helper()
	there := blocks(t, got)
	documents, missing, all := map[string]int{}, 0, 0
	for key, digest := range there {
		want, ok := b.want[key]
		f := strings.Fields(key)
		count, _ := strconv.Atoi(f[2])
		documents[f[0]] += count
		all += count
		switch {
		case !ok:
			missing++
		case want != digest:
			t.Errorf("calculation %s differs among the %s documents from seed %s", f[0], f[2], f[1])
		}
	}
	if missing > 0 {
		t.Errorf("%d blocks without a native digest", missing)
	}
	for _, d := range calc.Calculations() {
		if documents[d.Name] < min(n, 2000) {
			t.Errorf("calculation %s: %d documents of %d came back", d.Name, documents[d.Name], n)
		}
	}
	if !t.Failed() {
		t.Logf("%d calculations, %d documents, up to %d each: no bit differs", len(documents), all, n)
	}
}

// TestBits runs the same random documents through every calculation natively and on other machines,
// and compares digests of the replies.
func TestBits(t *testing.T) {
	if testing.Short() {
		t.Skip("builds for other machines")
	}
	root, _ := pure(t)
	n := cases(t)
	b := &bits{root: root, dir: t.TempDir()}
	b.native = b.build(t, "native")
	first := b.run(t, nil, b.native, "digest", "1", strconv.Itoa(n))
	b.want = blocks(t, first)
	for _, d := range calc.Calculations() {
		if _, ok := b.want[fmt.Sprintf("%s 1 %d", d.Name, min(n, 1000))]; !ok {
			t.Errorf("calculation %s has no maker of samples", d.Name)
		}
	}
	for _, line := range strings.Split(strings.TrimSpace(first), "\n") {
		if f := strings.Fields(line); f[2] == f[4] {
			t.Errorf("every sample was refused: %s", line)
		}
	}
	if t.Failed() {
		return
	}
	target := func(name string, run func(t *testing.T)) {
		t.Run(name, func(t *testing.T) { t.Parallel(); run(t) })
	}
	if runtime.GOARCH == "amd64" {
		target("amd64 v3", func(t *testing.T) {
			flags, err := os.ReadFile("/proc/cpuinfo")
			if err != nil || !bytes.Contains(flags, []byte(" avx2 ")) || !bytes.Contains(flags, []byte(" fma ")) {
				t.Skip("this processor has no fused instructions")
			}
			b.compare(t, n, b.run(t, nil, b.build(t, "v3", "GOAMD64=v3"), "digest", "1", strconv.Itoa(n)))
		})
		target("amd64 told to fuse nothing", func(t *testing.T) {
			b.compare(
				t, n, b.run(t, []string{"GODEBUG=cpu.fma=off,cpu.avx2=off"}, b.native, "digest", "1", strconv.Itoa(n)),
			)
		})
	}
	target("arm64", func(t *testing.T) {
		qemu, err := exec.LookPath("qemu-aarch64-static")
		if err != nil {
			t.Fatalf("install qemu-aarch64-static (Debian package qemu-user-static): %v", err)
		}
		few := min(n, emulated)
		b.compare(
			t, few,
			b.run(t, nil, qemu, b.build(t, "arm64", "GOOS=linux", "GOARCH=arm64"), "digest", "1", strconv.Itoa(few)),
		)
	})
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatalf("install node (Debian package nodejs): %v", err)
	}
	module := filepath.Join(b.dir, "calc.wasm")
	b.run(t, nil, "go", "run", "./cmd/webbuild", "-module", module)
	target("the phone's module in node", func(t *testing.T) {
		b.compare(t, n, b.through(t, n, node, "test/wasm-bits.mjs", module))
	})
	target("the phone's module in Chromium", func(t *testing.T) {
		browser := os.Getenv("CHROMIUM")
		if browser == "" {
			browser = "/usr/bin/chromium"
		}
		if _, err := os.Stat(browser); err != nil {
			t.Fatalf("install Chromium (Debian package chromium), or name it in CHROMIUM: %v", err)
		}
		if _, err := os.Stat(filepath.Join(root, "webapp", "node_modules", "playwright-core")); err != nil {
			t.Fatal("run npm ci in webapp")
		}
		b.compare(t, n, b.through(t, n, node, "test/wasm-bits.mjs", module, browser))
	})
}
