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

	"gaugewright/server/auth"
	"gaugewright/server/demo"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/verify"
	"gaugewright/sync/store"
)

// heldToKeys verifies a plant and its exports with keys. With the first plant's keys it and its
// exports verify. The plant made from an export has its own journal and verifies with its own keys;
// the first office's signatures in it are still valid. Another office's keys verify nothing.
func heldToKeys(t *testing.T, dir, data, fresh string, exports ...string) {
	t.Helper()
	doKeys := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return keys(a, in, out, out) }
	doVerify := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return verifyRecords(a, in, out, out) }
	ringOf := func(name, data string) string {
		t.Helper()
		ring, err := runs(t, doKeys, "", "--data", data)
		if err != nil {
			t.Fatal(ring, err)
		}
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(ring), 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	first, second, foreign := ringOf("keys.json", data), ringOf("fresh.json", fresh), ringOf("foreign.json", folder(t))
	holds := func(keys, path string) {
		t.Helper()
		said, err := runs(t, doVerify, "", "--keys", keys, path)
		if err != nil || !strings.Contains(said, "all of it holds") || !strings.Contains(said, "1 confirmed") ||
			strings.Contains(said, "statements: 0 signed") {
			t.Errorf("%s by %s: %s %v", path, keys, said, err)
		}
	}
	fails := func(keys, path, want string) {
		t.Helper()
		if said, err := runs(t, doVerify, "", "--keys", keys, path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s by %s: %s %v, want %q", path, keys, said, err, want)
		}
	}
	holds(first, data)
	holds(second, fresh)
	fails(first, fresh, "a journal of its own: give its keys")
	fails(foreign, data, "a journal of its own")
	for _, path := range exports {
		holds(first, path)
		holds(second, path)
		fails(foreign, path, "")
	}
	papers, err := filepath.Glob(filepath.Join(exports[0], "*", "*.pdf"))
	if err != nil || len(papers) == 0 {
		t.Fatal("no papers in the export", err)
	}
	for _, keys := range []string{first, second} {
		if said, err := runs(t, doVerify, "", "--keys", keys, papers[0]); err != nil ||
			!strings.Contains(said, "holds") {
			t.Errorf("%s by %s: %s %v", papers[0], keys, said, err)
		}
	}
	if said, err := runs(t, doVerify, "", "--keys", foreign, papers[0]); err == nil {
		t.Errorf("a paper by another office's keys: %s", said)
	}
}

// issueOne signs a certificate with the office's key, for an approved visit that has none.
func issueOne(t *testing.T, s *store.Store) {
	t.Helper()
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	if err != nil {
		t.Fatal(err)
	}
	o := office.New(s, keeper, time.Now)
	for _, v := range visits {
		if v.Status != plant.Approved {
			continue
		}
		out, err := o.Issue(t.Context(), v.Approval.By, v.ID, office.Sheet{Base: "https://office.example"})
		if err == nil && out.Number != "" {
			return
		}
		if err != nil && !errors.Is(err, office.ErrIssued) {
			t.Fatal(err)
		}
	}
	t.Fatal("no visit is left to issue a certificate of")
}

// TestExportCommand exports a plant as a folder and as a zip, verifies the signatures of both,
// imports one into a new plant, and detects a table that was altered together with its hash.
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
	if err == nil {
		issueOne(t, s)
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
	if got := notedIn(t, fresh, "export_brought_in"); !strings.Contains(got, "records") {
		t.Errorf("noted: %q", got)
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
	heldToKeys(t, dir, data, fresh, out, zipped, again)
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
