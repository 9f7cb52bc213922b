package demo_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"gaugewright/server/certificates"
	"gaugewright/server/dcc"
	"gaugewright/server/demo"
	"gaugewright/server/paper"
	"gaugewright/sync/statement"

	"github.com/golang-jwt/jwt/v5"
)

// laboratory is the key that signs the papers of these tests.
var laboratory = ed25519.NewKeyFromSeed([]byte("a key of tests, 32 bytes of it.."))

// signed is a paper with all its forms, as the office issues it.
type signed struct{ pdf, xml, record, code []byte }

// sign signs the content of a paper and draws it, with the code and the record in it.
func sign(t *testing.T, in *certificates.Input) signed {
	t.Helper()
	xml, err := certificates.Machine(*in)
	if err != nil {
		t.Fatal(err)
	}
	record, code, err := certificates.Record(*in, xml)
	if err != nil {
		t.Fatal(err)
	}
	one, err := paper.SignRecord(laboratory, record, code, xml)
	if err != nil {
		t.Fatal(err)
	}
	in.Signed = &one
	pdf, err := certificates.PDF(*in)
	if err != nil {
		t.Fatal(err)
	}
	s := signed{record: one.File(), code: []byte(one.Code)}
	if s.pdf, err = one.Seal(laboratory, pdf); err != nil {
		t.Fatal(err)
	}
	if s.xml, err = dcc.Enclose(xml, "certificate-"+in.Number+".pdf", s.pdf); err != nil {
		t.Fatal(err)
	}
	return s
}

// forms are the files of a paper by kind.
func (s *signed) forms() map[string][]byte {
	return map[string][]byte{"pdf": s.pdf, "xml": s.xml, "record": s.record, "code": s.code}
}

// listOf is the list of keys against which papers are checked.
func listOf(t *testing.T) *paper.List {
	t.Helper()
	l := paper.List{
		Format: paper.ListFormat, At: "2026-12-01T00:00:00Z", Replaced: []paper.Replaced{},
		Keys: []paper.Key{{Public: statement.PublicOf(laboratory), From: "2020-01-01T00:00:00Z"}},
	}
	b, err := l.Sign(laboratory)
	if err != nil {
		t.Fatal(err)
	}
	if l, err = paper.ReadList(b, nil); err != nil {
		t.Fatal(err)
	}
	return &l
}

// others are the files for independent implementations to check, all in one go.
type others struct {
	dir   string
	Keys  []statement.Key `json:"keys"`
	Cases []otherCase     `json:"cases"`
	want  map[string]string
}

type otherCase struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
	Path string `json:"path"`
}

func newOthers(t *testing.T) *others {
	t.Helper()
	return &others{
		dir: t.TempDir(), Keys: []statement.Key{statement.PublicOf(laboratory)}, want: map[string]string{},
	}
}

// add adds a file to check; number is that of its certificate, or "" if the check must fail.
func (o *others) add(t *testing.T, name, kind, number string, b []byte) {
	t.Helper()
	file := filepath.Join(o.dir, fmt.Sprint(len(o.Cases)))
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
	o.Cases = append(o.Cases, otherCase{name, kind, file})
	o.want[name] = number
}

// check runs an independent checker written from the documents (server/paper/testdata), with
// Python's cryptography, on each file.
func (o *others) check(t *testing.T) {
	t.Helper()
	in, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	python := "/usr/bin/python3"
	if exec.Command(python, "-c", "import cryptography").Run() != nil {
		python = "python3"
	}
	cmd := exec.Command(python, "../paper/testdata/outside.py")
	cmd.Stdin = bytes.NewReader(in)
	var wrong bytes.Buffer
	cmd.Stderr = &wrong
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("cryptography for python3 (Debian package python3-cryptography): %v: %s", err, wrong.String())
	}
	var said map[string]string
	if err := json.Unmarshal(out, &said); err != nil || len(said) != len(o.Cases) {
		t.Fatalf("%d answers about %d files: %v", len(said), len(o.Cases), err)
	}
	for name, want := range o.want {
		if said[name] != want {
			t.Errorf("%s: %q by Python's cryptography, want %q", name, said[name], want)
		}
	}
}

// holds checks each form of a paper here, and its record also with an independent JOSE library
// (golang-jwt, RFC 7515 compact).
func (s *signed) holds(t *testing.T, l *paper.List, number string) {
	t.Helper()
	for kind, b := range s.forms() {
		if f, err := paper.Check(b, l); err != nil || f.Number != number {
			t.Errorf("%s of %s: %+v %v", kind, number, f, err)
		}
	}
	var f struct{ Payload, Protected, Signature string }
	if err := json.Unmarshal(s.record, &f); err != nil {
		t.Fatal(err)
	}
	_, err := jwt.NewParser(jwt.WithValidMethods([]string{"EdDSA"})).Parse(
		f.Protected+"."+f.Payload+"."+f.Signature,
		func(*jwt.Token) (any, error) { return laboratory.Public(), nil },
	)
	if err != nil {
		t.Errorf("record of %s, by golang-jwt: %v", number, err)
	}
}

// TestEveryBitOfEachKind flips bits in a paper of every kind of work. Each flip is found, here and
// by the checker with Python's cryptography. It flips every bit of the gauge's record and of every
// code; of the others, and of the PDF and the XML in it, bits at equal steps, which reach every bit
// of a byte. With -short fewer.
func TestEveryBitOfEachKind(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today, Instruments: 60, Years: 2, Base: "http://localhost:8080"})
	list, kinds := sheets(t, s)
	l, outside := listOf(t), newOthers(t)
	for _, kind := range kindsOf {
		i := slices.Index(kinds, kind)
		if i < 0 {
			t.Fatal("no paper of", kind)
		}
		one := sign(t, &list[i])
		one.holds(t, l, list[i].Number)
		for form, b := range one.forms() {
			flips := map[string]int{"pdf": 300, "xml": 300, "record": 3000, "code": 1 << 20}[form]
			if kind == "gauge" && form == "record" && !testing.Short() {
				flips = 1 << 20
			}
			if testing.Short() {
				flips = min(flips, 150)
			}
			step := max(1, 8*len(b)/flips)
			if step%2 == 0 {
				step++ // reaches every bit of a byte
			}
			for n, at := 0, 0; at < 8*len(b); n, at = n+1, at+step {
				b[at/8] ^= 1 << (at % 8)
				if f, err := paper.Check(b, l); err == nil {
					t.Errorf("%s of %s: bit %d of byte %d of %d: %+v", form, kind, at%8, at/8, len(b), f)
				}
				if n%100 == 50 && at/8 < len(b)-1 { // not the end of the last line
					outside.add(t, fmt.Sprintf("%s of %s, bit %d", form, kind, at), form, "", b)
				}
				b[at/8] ^= 1 << (at % 8)
			}
		}
	}
	outside.check(t)
}
