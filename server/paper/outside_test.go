package paper_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"testing"

	"gaugewright/server/paper"
	"gaugewright/sync/statement"
)

// TestAgainstPython runs a checker that was written from the documents, with Python's cryptography,
// on a certificate's record, its PDF and its code. It finds them signed, and finds every flipped
// bit.
func TestAgainstPython(t *testing.T) {
	python := ""
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(name, "-c", "import cryptography").Run() == nil {
			python = name
			break
		}
	}
	if python == "" {
		t.Fatal("install cryptography for python3 (Debian package python3-cryptography)")
	}
	type file struct {
		Name  string `json:"name"`
		Kind  string `json:"kind"`
		Bytes []byte `json:"bytes"`
	}
	var asked struct {
		Keys  []statement.Key `json:"keys"`
		Cases []file          `json:"cases"`
	}
	asked.Keys = []statement.Key{statement.PublicOf(private(t))}
	s := files(t, false)
	whole := []file{{"record", "record", s.record}, {"paper", "pdf", s.pdf}, {"code", "code", []byte(s.signed.Code)}}
	asked.Cases = whole
	for _, f := range whole {
		step := max(1, len(f.Bytes)/400)
		for i := 0; i < len(f.Bytes)-1; i += step { // not the end of the last line
			changed := bytes.Clone(f.Bytes)
			changed[i] ^= 1 << (i % 7)
			asked.Cases = append(
				asked.Cases, file{fmt.Sprintf("%s, bit %d of byte %d", f.Name, i%7, i), f.Kind, changed},
			)
		}
	}
	in, err := json.Marshal(asked)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "testdata/outside.py")
	cmd.Stdin = bytes.NewReader(in)
	var wrong bytes.Buffer
	cmd.Stderr = &wrong
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, wrong.String())
	}
	var said map[string]string
	if err := json.Unmarshal(out, &said); err != nil || len(said) != len(asked.Cases) {
		t.Fatalf("%d answers to %d cases: %v", len(said), len(asked.Cases), err)
	}
	l := s.listed(t)
	for i, c := range asked.Cases {
		_, err := paper.Check(c.Bytes, l)
		if i < len(whole) && (said[c.Name] != "2026-00007" || err != nil) {
			t.Errorf("%s: found %q by Python, here %v", c.Name, said[c.Name], err)
		}
		if i >= len(whole) && (said[c.Name] != "" || err == nil) {
			t.Errorf("%s: taken by Python as %q, here %v", c.Name, said[c.Name], err)
		}
	}
}
