package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/paper"
)

// TestVerifyPapers: the files of a certificate, which package paper freezes, verify by themselves
// and as a folder, with no store and no network.
func TestVerifyPapers(t *testing.T) {
	do := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return verifyRecords(a, in, out, out) }
	frozen := filepath.Join("..", "..", "testdata", "papers")
	keys := filepath.Join(frozen, "list.json")
	for _, name := range []string{"certificate.pdf", "certificate.xml", "record.json", "code.txt", ""} {
		out, err := runs(t, do, "", "--keys", keys, filepath.Join(frozen, name))
		if err != nil || !strings.Contains(out, "all of it holds") ||
			!strings.Contains(out, "certificate 2026-00011 replaces it") {
			t.Errorf("%q: %s %v", name, out, err)
		}
	}
	out, err := runs(t, do, "", "--keys", keys, filepath.Join(frozen, "code.txt"))
	if want := "item PI-1001/Ž …, issued 2026-03-04, as found: fail, as left: pass"; err != nil ||
		!strings.Contains(out, want) {
		t.Errorf("%s %v", out, err)
	}
	dir := t.TempDir()
	for _, name := range []string{"certificate.pdf", "record.json"} {
		b, err := os.ReadFile(filepath.Join(frozen, name))
		if err != nil {
			t.Fatal(err)
		}
		if name == "record.json" {
			b[100] ^= 1
		}
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "note.txt"), []byte("hello"), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err = runs(t, do, "", "--keys", keys, dir)
	if !errors.Is(err, paper.ErrNot) || !strings.Contains(err.Error(), "1 of 2 files") ||
		!strings.Contains(out, "note.txt: not a file") {
		t.Errorf("%s %v", out, err)
	}
	for want, args := range map[string][]string{
		"--keys names no file":             {filepath.Join(frozen, "certificate.pdf")},
		"no file of a certificate":         {"--keys", keys, t.TempDir()},
		"names a list of the office's key": {"--keys", keys, "--record", keys, filepath.Join(frozen, "certificate.pdf")},
	} {
		if out, err := runs(t, do, "", args...); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %s %v, want %q", args, out, err, want)
		}
	}
}
