package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/server/register"
	"gaugewright/sync/store"
)

func folder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	k, err := auth.New(s, time.Now)
	if err == nil {
		_, err = k.Add("adm1", "office", auth.Administrator, "a long enough one")
	}
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	return dir
}

func tags(t *testing.T, dir string) (list []string) {
	t.Helper()
	s, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	all, err := plant.All(s, "instrument", plant.ReadInstrument)
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	for _, i := range all {
		list = append(list, i.Tag)
	}
	return list
}

func TestImportWritesAllOrNothing(t *testing.T) {
	dir := folder(t)
	file := filepath.Join(dir, "register.csv")
	text := "tag,range,class,resolution\nPI-1,0-10 bar,1,0.1\nPI-2,0-10 bar,7,0.1\n"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	left := filepath.Join(dir, "left.csv")
	var out, warn bytes.Buffer
	if err := importRegister([]string{"--data", dir, file}, nil, &out, &warn); !errors.Is(err, errRefused) ||
		!strings.Contains(out.String(), "line 3  PI-2  BAD  column \"class\": the class 7") {
		t.Error("dry run:", err, out.String())
	}
	if err := importRegister([]string{"--data", dir, "--write", file}, nil, &out, &warn); !errors.Is(err, register.ErrBadRows) {
		t.Error("a bad row:", err)
	}
	if got := tags(t, dir); len(got) != 0 {
		t.Error("nothing may be written yet:", got)
	}
	if err := importRegister([]string{"--data", dir, "--write", "--skip-bad", left, file}, nil, &out, &warn); err != nil {
		t.Fatal(err)
	}
	if got := tags(t, dir); len(got) != 1 || got[0] != "PI-1" {
		t.Error(got)
	}
	b, err := os.ReadFile(left)
	if err != nil || !strings.HasPrefix(string(b), "tag,range,class,resolution,problem\nPI-2,0-10 bar,7,0.1,") {
		t.Error(string(b), err)
	}
	out.Reset()
	if err := importRegister([]string{"--data", dir, "--write", file}, nil, &out, &warn); !errors.Is(err, register.ErrBadRows) || !strings.Contains(out.String(), "PI-1 is here already") {
		t.Error("twice:", err, out.String())
	}
}

func TestLabelOfAnImportedInstrument(t *testing.T) {
	dir := folder(t)
	file := filepath.Join(dir, "register.csv")
	if err := os.WriteFile(file, []byte("tag,range,class,resolution\nPI-1,0-10 bar,1,0.1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var out, warn bytes.Buffer
	if err := importRegister([]string{"--data", dir, "--write", file}, nil, &out, &warn); err != nil {
		t.Fatal(err)
	}
	out.Reset()
	if err := label([]string{"--data", dir, "--host", "https://gauges.example", "PI-1"}, nil, &out, &warn); err != nil || !bytes.HasPrefix(out.Bytes(), []byte("%PDF-")) {
		t.Error(err)
	}
	if err := label([]string{"--data", dir, "--host", "https://gauges.example", "PI-2"}, nil, &out, &warn); !errors.Is(err, plant.ErrNotFound) {
		t.Error(err)
	}
}

func TestImportHelpTellsEveryColumn(t *testing.T) {
	var out, warn bytes.Buffer
	if err := importRegister([]string{"-h"}, nil, &out, &warn); !errors.Is(err, errRefused) {
		t.Error(err)
	}
	for _, name := range register.FieldNames() {
		if !strings.Contains(warn.String(), "\n  "+name+" ") {
			t.Errorf("no line for %s", name)
		}
	}
}

// TestImportUpdates: the command changes existing instruments, as the office's page does, and
// announces that first.
func TestImportUpdates(t *testing.T) {
	dir := folder(t)
	file := filepath.Join(dir, "register.csv")
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	run := func(args ...string) (string, error) {
		var out, warn bytes.Buffer
		err := importRegister(append(append([]string{"--data", dir}, args...), file), nil, &out, &warn)
		return out.String(), err
	}
	write("Plant list\n\nTAG-Nr.;Messbereich;Kl.;Teilung;Termin\nPI-1;0-10;1,0;0,1;bald\npi 1;0-10;1,0;0,1;\nPI-2;0-4 bar;1,0;0,05;31.12.26\n")
	if said, err := run("--set", "unit=bar"); !errors.Is(err, errRefused) ||
		!strings.Contains(said, "is also in line 4") {
		t.Error(said, err)
	}
	said, err := run("--set", "unit=bar", "--twice", "first", "--value", "due:bald=Q1 2027", "--write")
	if err != nil || !strings.Contains(said, "2 instruments written, 0 changed") {
		t.Fatal(said, err)
	}
	write("tag,serial,due\nPI1,S-1001,2027-06-30\nPI-2,,\n")
	said, err = run("--update")
	if err != nil || !strings.Contains(said, `due: "2027-03-31" → "2027-06-30"`) ||
		!strings.Contains(said, "nothing was written") {
		t.Error(said, err)
	}
	if said, err = run("--update", "--write"); err != nil ||
		!strings.Contains(said, "0 instruments written, 1 changed") {
		t.Error(said, err)
	}
	write("tag,serial,range,class,resolution\nPI-1,S-2002,0-10 bar,1,0.1\n")
	if said, err = run("--update"); !errors.Is(err, errRefused) || !strings.Contains(said, "S-1001") {
		t.Error(said, err)
	}
	if said, err = run("--update", "--serials", "exchange", "--write"); err != nil {
		t.Error(said, err)
	}
	if got := tags(t, dir); strings.Join(got, " ") != "PI-1 (S-1001) PI-2 PI-1" {
		t.Error("after the exchange:", got)
	}
	for _, bad := range [][]string{{"--twice", "both"}, {"--serials", "correct"}, {"--value", "due=1"}, {"--header-line", "99"}} {
		if said, err := run(bad...); err == nil {
			t.Error(bad, said)
		}
	}
}
