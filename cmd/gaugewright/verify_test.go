package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/office"
	"gaugewright/server/verify"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// notedIn returns what a folder's event log says with the newest event of a kind, "" without one.
func notedIn(t *testing.T, dir, kind string) string {
	t.Helper()
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	list, err := s.Events(0, 100)
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		if e.Kind == kind {
			return e.Detail
		}
	}
	return ""
}

// TestVerifyCommand: a folder and its backup hold with their keys, a bit in the database is found,
// and what is given wrongly is said.
func TestVerifyCommand(t *testing.T) {
	doVerify := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return verifyRecords(a, in, out, out) }
	doKeys := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return keys(a, in, out, out) }
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	s, err := store.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{one("c1", "r1"), one("c2", "r2")}); err != nil {
		t.Fatal(err)
	}
	packed := filepath.Join(dir, "backup.tar.gz")
	if _, err := writeNew(packed, func(w io.Writer) error { return s.Backup(w, false) }); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	ring, err := runs(t, doKeys, "", "--data", data)
	if err != nil || !strings.Contains(ring, office.RingFormat) {
		t.Fatal(ring, err)
	}
	file := filepath.Join(dir, "keys.json")
	if err := os.WriteFile(file, []byte(ring), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{data, packed} {
		if out, err := runs(t, doVerify, "", "--keys", file, path); err != nil ||
			!strings.Contains(out, "all of it holds") {
			t.Error(path, out, err)
		}
	}
	if out, err := runs(t, doKeys, "", "--data", data, "--new"); err != nil || !strings.Contains(out, "vouches") {
		t.Error(out, err)
	}
	if got := notedIn(t, data, "key_new"); got == "" {
		t.Error("the log does not have the new key")
	}
	if out, err := runs(t, doVerify, "", data); err != nil {
		t.Error("another key, nothing signed with it yet:", out, err)
	}

	for want, args := range map[string][]string{"is not here": {"--end", "n0key", "--why", "lost"}, "no reason": {"--end", "n0key"}, "not here": {"--confirm", "n0key"}} {
		if out, err := runs(t, doKeys, "", append([]string{"--data", data}, args...)...); err == nil ||
			!strings.Contains(err.Error(), want) {
			t.Errorf("%v: %s %v, want %q", args, out, err, want)
		}
	}

	path := filepath.Join(data, store.File)
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.LastIndex(b, []byte(`"PI-1"`))
	if at < 0 {
		t.Fatal("the tag is not in the file")
	}
	for i := 0; ; { // in every page that has it, also in those in use
		k := bytes.Index(b[i:], []byte(`"PI-1"`))
		if k < 0 {
			break
		}
		i += k + 1
		b[i] ^= 1
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := runs(t, doVerify, "", "--keys", file, data)
	if !errors.Is(err, verify.ErrNot) || strings.Contains(out, "all of it holds") {
		t.Error(out, err)
	}

	bad := filepath.Join(dir, "bad.json")
	if err := os.WriteFile(bad, []byte(`{"format":"x"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for want, args := range map[string][]string{
		"name one":                    {},
		"not of the form":             {"--keys", bad, packed},
		"no such file":                {filepath.Join(dir, "none")},
		"--keys names no file":        {pdfFile(t, dir)},
		"the record of a certificate": {"--record", file, pdfFile(t, dir)},
		"gaugewright-record-1":        {bad},
	} {
		if out, err := runs(t, doVerify, "", args...); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %s %v, want %q", args, out, err, want)
		}
	}
}

func pdfFile(t *testing.T, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "certificate.pdf")
	if err := os.WriteFile(path, []byte("%PDF-1.7"), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
