package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// A reactor that exercises the collector, grows its stack, recovers from a panic, and can crash.
const trial = `package main

import (
	"runtime"
	"strconv"
)

func main() {}

type tree struct {
	left, right *tree
	n           int
}

func grow(n int) *tree {
	if n == 0 {
		return nil
	}
	t := &tree{grow(n - 1), grow(n - 1), n}
	t.n += len(make([]byte, n*64))
	return t
}

func (t *tree) sum() int {
	if t == nil {
		return 0
	}
	return t.n + t.left.sum() + t.right.sum()
}

func deep(n int) int {
	var room [64]int
	if n == 0 {
		return 0
	}
	room[n%64] = n
	return room[n%64] + deep(n-1)
}

func safe(list []int, i int) (n int, why string) {
	defer func() {
		if r := recover(); r != nil {
			why = r.(error).Error()
		}
	}()
	return list[i], ""
}

//go:wasmexport work
func work() int64 {
	kept := grow(10)
	total := kept.sum()
	for range 40 {
		total += grow(8).sum()
		runtime.GC() // the reactor leaves garbage collection to the module
	}
	_, why := safe([]int{1}, total)
	return int64(total + deep(20000) + kept.sum() + len(why) + len(strconv.Itoa(total)))
}

//go:wasmexport crash
func crash(i int32) int32 { return []int32{1}[i] }
`

const runTrial = `import { readFileSync } from "node:fs";
import { start } from %REACTOR%;
const said = [], replies = [];
for (const file of process.argv.slice(2)) {
	let text = "";
	const { exports } = await start.instance(readFileSync(file), (piece) => { text += new TextDecoder().decode(piece); });
	const sum = String(exports.work());
	let ended = "";
	try { exports.crash(7); } catch (e) { ended = String(e.message); }
	replies.push({ sum, ended, text });
}
console.log(JSON.stringify(replies));
`

// TestSlimModuleWorksAlike: a module without its tables for stack traces collects garbage, grows
// stacks, recovers and crashes as the full one does.
func TestSlimModuleWorksAlike(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		t.Fatalf("install node (Debian package nodejs): %v", err)
	}
	dir := t.TempDir()
	for name, body := range map[string]string{"go.mod": "module trial\n\ngo 1.26\n", "main.go": trial} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(body), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	whole, slimmed := filepath.Join(dir, "whole.wasm"), filepath.Join(dir, "slim.wasm")
	build := exec.Command("go", "build", "-buildmode=c-shared", "-trimpath", "-ldflags", "-s -w", "-o", whole, ".")
	build.Dir, build.Env = dir, append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "GOFLAGS=", "GOWORK=off")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	linked, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	body, err := slim(linked)
	if errors.Is(err, errLayout) {
		t.Fatalf(
			"%s lays the tables out in another way; bring slim.go up to it, or phones load a larger module: %v",
			runtime.Version(), err,
		)
	}
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(body, []byte("main.deep")) || bytes.Contains(body, []byte("runtime.mallocgc")) {
		t.Error("names of functions are left")
	}
	again, err := slim(body)
	if err != nil || !bytes.Equal(again, body) {
		t.Errorf("made slim twice, the module changes: %v", err)
	}
	if err := os.WriteFile(slimmed, body, 0o644); err != nil {
		t.Fatal(err)
	}
	reactor, err := filepath.Abs(filepath.Join("..", "..", "webapp", "test", "reactor.mjs"))
	if err != nil {
		t.Fatal(err)
	}
	script := filepath.Join(dir, "run.mjs")
	quoted, _ := json.Marshal("file://" + reactor)
	if err := os.WriteFile(script, []byte(strings.Replace(runTrial, "%REACTOR%", string(quoted), 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(node, script, whole, slimmed).Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var replies []struct{ Sum, Ended, Text string }
	if err := json.Unmarshal(out, &replies); err != nil || len(replies) != 2 {
		t.Fatalf("%v: %s", err, out)
	}
	a, b := replies[0], replies[1]
	if a.Sum != b.Sum || a.Sum == "" {
		t.Errorf("whole %s, slim %s", a.Sum, b.Sum)
	}
	if a.Ended != b.Ended || a.Ended == "" {
		t.Errorf("whole %q, slim %q", a.Ended, b.Ended)
	}
	for _, r := range replies {
		if !strings.Contains(r.Text, "panic: runtime error: index out of range [7] with length 1") {
			t.Errorf("a crash says %q", r.Text)
		}
	}
	if !strings.Contains(a.Text, "main.crash") || strings.Contains(b.Text, "main.crash") {
		t.Errorf("names: whole %q, slim %q", a.Text, b.Text)
	}
}

func TestSlimRefusesWhatItDoesNotKnow(t *testing.T) {
	head := "\x00asm\x01\x00\x00\x00"
	for body, want := range map[string]error{
		"":                            errModule,
		head + "\x0b\x7f":             errModule,
		head + "\x0b\x03\x01\x01\x41": errModule,
		head + "\x0b\x08\x01\x00\x41\x08\x0b\x02ab": errLayout,
	} {
		if _, err := slim([]byte(body)); !errors.Is(err, want) {
			t.Errorf("%q: %v, want %v", body, err, want)
		}
	}
}

func TestSegmentsKeepTheMemory(t *testing.T) {
	image := make([]byte, 3000)
	copy(image[100:], "one")
	copy(image[140:], "two")
	copy(image[2500:], "three")
	image[2999] = 1
	back, low, err := readSegments(writeSegments(image, 100))
	if err != nil || low != 100 || !bytes.Equal(back, image) {
		t.Errorf("%v, from %d", err, low)
	}
}
