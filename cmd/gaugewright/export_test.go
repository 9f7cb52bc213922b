package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/demo"
	"gaugewright/server/verify"
	"gaugewright/sync/store"
)

// TestExportCommand takes a plant out as a folder and as a zip, holds both to their signatures,
// brings one into a new plant, and finds a table that was altered together with its hash.
func TestExportCommand(t *testing.T) {
	doExport := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return exportPlant(a, in, out, out) }
	doVerify := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return verifyRecords(a, in, out, out) }
	doImport := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return importRegister(a, in, out, out) }
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	s, err := store.OpenWith(data, store.Options{NoSync: true})
	if err == nil {
		_, err = demo.Seed(context.Background(), s, demo.Options{Seed: 5, Today: time.Now(), Instruments: 4, Years: 1})
	}
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	out, zipped := filepath.Join(dir, "out"), filepath.Join(dir, "out.zip")
	for _, to := range []string{out, zipped} {
		if said, err := runs(t, doExport, "", "--data", data, to); err != nil ||
			!strings.Contains(said, "records with") {
			t.Fatal(said, err)
		}
		if said, err := runs(t, doVerify, "", to); err != nil || !strings.Contains(said, "all of it holds") {
			t.Error(to, said, err)
		}
	}
	fresh := filepath.Join(dir, "fresh")
	if said, err := runs(t, doImport, "", "--data", fresh, zipped); err != nil ||
		!strings.Contains(said, "nothing was written") {
		t.Error(said, err)
	}
	if said, err := runs(t, doImport, "", "--data", fresh, "--write", zipped); err != nil ||
		!strings.Contains(said, "records with") {
		t.Fatal(said, err)
	}
	again := filepath.Join(dir, "again.zip")
	if said, err := runs(t, doExport, "", "--data", fresh, again); err != nil {
		t.Fatal(said, err)
	}
	first, err := os.ReadFile(zipped)
	if err != nil {
		t.Fatal(err)
	}
	if second, err := os.ReadFile(again); err != nil || !bytes.Equal(first, second) {
		t.Errorf("the new plant gives another export, %v", err)
	}
	if said, err := runs(t, doExport, "", "--data", data, "--only", "colour=red", filepath.Join(dir, "x")); err == nil {
		t.Error("a filter that is none:", said)
	}

	table := filepath.Join(out, "findings.csv")
	b, err := os.ReadFile(table)
	if err != nil {
		t.Fatal(err)
	}
	forged := bytes.Replace(b, []byte(",pass,"), []byte(",fail,"), 1)
	sums, err := os.ReadFile(filepath.Join(out, "SHA256SUMS"))
	if err != nil || bytes.Equal(b, forged) {
		t.Fatal("nothing to alter", err)
	}
	hash := func(b []byte) []byte { h := sha256.Sum256(b); return []byte(hex.EncodeToString(h[:])) }
	for name, text := range map[string][]byte{
		table: forged, filepath.Join(out, "SHA256SUMS"): bytes.Replace(sums, hash(b), hash(forged), 1),
	} {
		if err := os.WriteFile(name, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	said, err := runs(t, doVerify, "", out)
	if !errors.Is(err, verify.ErrNot) || !strings.Contains(err.Error(), "findings.csv") {
		t.Error("an altered table:", said, err)
	}
}
