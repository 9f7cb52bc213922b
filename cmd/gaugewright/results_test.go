package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// TestImportResults: a sheet of past results is imported with its certificates, exported, and
// imported again.
func TestImportResults(t *testing.T) {
	dir := folder(t)
	place := t.TempDir()
	write := func(name, text string) string {
		t.Helper()
		path := filepath.Join(place, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	run := func(args ...string) (string, error) {
		var out, warn bytes.Buffer
		err := importRegister(args, nil, &out, &warn)
		return out.String(), err
	}
	register := write("register.csv", "tag,serial,range,class,resolution\nPI-1,A-1001,0-10 bar,1,0.1\n")
	if said, err := run("--data", dir, "--write", register); err != nil {
		t.Fatal(said, err)
	}
	sheet := write(
		"past.csv",
		"tag,date,point,error,certificate,file\nPI-1,2019-03-04,10,0.05,K-1,k1.pdf\nPI-7,2019-03-04,10,0.05,,\n",
	)
	write("k1.pdf", "%PDF-1.7 of the past")
	if said, err := run("--data", dir, "--results", "--write", sheet); err == nil ||
		!strings.Contains(err.Error(), "--files") {
		t.Error("a file that is nowhere:", said, err)
	}
	said, err := run("--data", dir, "--results", "--files", place, sheet)
	if err != nil || !strings.Contains(said, "nothing was written") ||
		!strings.Contains(said, `no instrument here has the tag "PI-7"`) {
		t.Error(said, err)
	}
	said, err = run("--data", dir, "--results", "--files", place, "--write", sheet)
	if err != nil || !strings.Contains(said, "1 past results brought in, 1 tests left out") {
		t.Fatal(said, err)
	}
	said, err = run("--data", dir, "--results", "--files", place, "--write", sheet)
	if err != nil || !strings.Contains(said, "0 past results brought in") {
		t.Error("twice:", said, err)
	}
	out, fresh := filepath.Join(place, "out"), filepath.Join(place, "fresh")
	var said1, said2 bytes.Buffer
	if err := exportPlant([]string{"--data", dir, out}, nil, &said1, &said2); err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(filepath.Join(out, "earlier_results.csv")); err != nil ||
		!strings.Contains(string(b), "PI-1,A-1001,2019-03-04,pass,,,K-1,") {
		t.Error(string(b), err)
	}
	if err := verifyRecords([]string{out}, nil, &said1, &said2); err != nil {
		t.Error(said1.String(), err)
	}
	if said, err := run("--data", fresh, "--write", out); err != nil {
		t.Fatal(said, err)
	}
	s, err := store.Open(fresh)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	all, err := plant.All(s, "result", plant.ReadPastResult)
	if err != nil || len(all) != 1 {
		t.Fatal(len(all), err)
	}
	if b, err := s.Blob(all[0].Certificate.File); err != nil || !strings.HasPrefix(string(b), "%PDF") {
		t.Error(string(b), err)
	}
	if b, err := s.Blob(all[0].Brought.Sheet); err != nil || !strings.HasPrefix(string(b), "tag,date") {
		t.Error(string(b), err)
	}
}
