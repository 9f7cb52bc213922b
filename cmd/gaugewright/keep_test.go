package main

import (
	"bytes"
	"context"
	"errors"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/store"

	"filippo.io/age"
)

func one(id, record string) change.Change {
	return change.Change{ID: id, Device: "d1", Seq: 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "d1"),
		Record: record, Kind: "instrument", Set: []change.Setting{{Field: "tag", Value: []byte(`"PI-1"`)}}}
}

func runs(
	t *testing.T, f func([]string, *strings.Reader, *bytes.Buffer) error, in string, args ...string,
) (string, error) {
	t.Helper()
	var out bytes.Buffer
	err := f(args, strings.NewReader(in), &out)
	return out.String(), err
}

// TestASealedBackup can be restored only by the holder of the identity.
func TestASealedBackup(t *testing.T) {
	dir := t.TempDir()
	data, sealed := filepath.Join(dir, "data"), filepath.Join(dir, "backup.age")
	s, err := store.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Add(context.Background(), []change.Change{one("c1", "r1")})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	identities := map[string]string{}
	recipient := ""
	for _, whose := range []string{"ours", "theirs"} {
		i, err := age.GenerateX25519Identity()
		if err != nil {
			t.Fatal(err)
		}
		if whose == "ours" {
			recipient = i.Recipient().String()
		}
		identities[whose] = filepath.Join(dir, whose)
		if err := os.WriteFile(identities[whose], []byte(i.String()+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := backup([]string{"--data", data, "--out", sealed, "--encrypt-to", "age1nobody"}, strings.NewReader(""), &out, &out); err == nil {
		t.Error("a recipient that is none was taken")
	}
	if err := backup([]string{"--data", data, "--out", sealed, "--encrypt-to", recipient}, strings.NewReader(""), &out, &out); err != nil || !strings.Contains(out.String(), "without that it is lost") {
		t.Fatal(out.String(), err)
	}
	b, err := os.ReadFile(sealed)
	if err != nil || bytes.Contains(b, []byte("contents.json")) {
		t.Fatal(err)
	}
	broken := sealed + ".cut"
	if err := os.WriteFile(broken, b[:len(b)-20], 0o600); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"without an identity": {"--in", sealed}, "with another's": {
			"--in", sealed, "--identity", identities["theirs"],
		}, "cut short": {
			"--in", broken, "--identity", identities["ours"],
		}, "no identity": {"--in", sealed, "--identity", sealed},
	} {
		to := filepath.Join(dir, strings.ReplaceAll(name, " ", ""))
		if err := restore(append(args, "--data", to), strings.NewReader(""), &out, &out); err == nil {
			t.Errorf("%s: brought back", name)
		}
		if _, err := os.Stat(to); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s: a folder is there", name)
		}
	}
	out.Reset()
	back := filepath.Join(dir, "back")
	if err := restore([]string{"--in", sealed, "--identity", identities["ours"], "--data", back}, strings.NewReader(""), &out, &out); err != nil || !strings.Contains(out.String(), "1 changes in 1 records") {
		t.Fatal(out.String(), err)
	}
	s, err = store.Open(back)
	if err != nil {
		t.Fatal(err)
	}
	list, err := s.Events(0, 10)
	if err := errors.Join(err, s.Close()); err != nil || len(list) != 2 || list[0].Kind != "backup_restored" ||
		list[1].Kind != "backup" {
		t.Errorf("noted: %+v %v", list, err)
	}
}

// TestBackupCheckRestore: a copy of a folder at rest and one of a running program are restored in
// full. A damaged folder is named and ends with an error. Nothing is overwritten.
func TestBackupCheckRestore(t *testing.T) {
	doBackup := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return backup(a, in, out, out) }
	doCheck := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return check(a, in, out, out) }
	doRestore := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return restore(a, in, out, out) }
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	s, err := store.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(context.Background(), []change.Change{one("c1", "r1"), one("c2", "r2")}); err != nil {
		t.Fatal(err)
	}
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	const secret = "a long enough secret"
	if _, err := keeper.Add("an", "administrator", auth.Administrator, secret); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(
		api.New(api.Deps{Store: s, Keeper: keeper, Now: time.Now, Client: fstest.MapFS{"index.html": {}}}),
	)
	served := filepath.Join(dir, "served.tar.gz")
	if out, err := runs(t, doBackup, secret+"\n", "--from", server.URL, "--out", served); err != nil ||
		!strings.Contains(out, "authority") {
		t.Fatal(out, err)
	}
	if _, err := runs(t, doBackup, secret+"\n", "--from", server.URL, "--out", served); !errors.Is(err, os.ErrExist) {
		t.Errorf("written over: %v", err)
	}
	if _, err := runs(t, doBackup, "wrong\n", "--from", server.URL, "--out", served+"2"); err == nil ||
		!strings.Contains(err.Error(), "401") {
		t.Errorf("a wrong password: %v", err)
	}
	if _, err := runs(t, doCheck, "", "--data", data); err == nil {
		t.Error("a folder in use was checked")
	}
	server.Close()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	atRest := filepath.Join(dir, "rest.tar.gz")
	if out, err := runs(t, doBackup, "", "--data", data, "--out", atRest); err != nil {
		t.Fatal(out, err)
	}
	for _, file := range []string{served, atRest} {
		back := file + ".data"
		out, err := runs(t, doRestore, "", "--data", back, "--in", file)
		if err != nil || !strings.Contains(out, "2 changes in 2 records") ||
			!strings.Contains(out, "Everybody logs in again") {
			t.Fatal(out, err)
		}
		if out, err := runs(t, doCheck, "", "--data", back); err != nil || !strings.Contains(out, "no damage") {
			t.Error(out, err)
		}
		if _, err := runs(t, doRestore, "", "--data", back, "--in", file); !errors.Is(err, os.ErrExist) {
			t.Errorf("restored over a folder: %v", err)
		}
	}
	if err := os.WriteFile(filepath.Join(data, "blobs", strings.Repeat("a", 64)), []byte("no such hash"), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := runs(t, doCheck, "", "--data", data); !errors.Is(err, errDamage) ||
		!strings.Contains(out, "damage: blobs") {
		t.Error(out, err)
	}
	if list, err := filepath.Glob(filepath.Join(dir, "*.part-*")); err != nil || len(list) != 0 {
		t.Errorf("left over: %v, %v", list, err)
	}
	for _, bad := range [][]string{{}, {"--data", data}, {"--data", data, "--from", "x", "--out", "y"}, {"--data", filepath.Join(dir, "none"), "--out", "y"}} {
		if _, err := runs(t, doBackup, "", bad...); err == nil {
			t.Errorf("%v: taken", bad)
		}
	}
}
