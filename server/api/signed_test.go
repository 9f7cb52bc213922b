package api_test

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	papers "gaugewright/server/paper"
)

// TestAnybodyChecksACertificate checks that the public list alone verifies every form of a
// certificate, says what replaced it and what it replaces, and that any changed bit is found.
func TestAnybodyChecksACertificate(t *testing.T) {
	p := newPlant(t)
	p.do("administrator", "PUT", "/api/office/letterhead", strings.Replace(head, "{", `{"country":"NL",`, 1))
	f := p.phone()
	visit := f.wholeVisit("PI-SECRET")
	first := f.approve(visit.ID)
	list := func() *papers.List {
		t.Helper()
		a := p.do("", "GET", "/api/verify", "")
		l, err := papers.ReadList(a.body, nil)
		if err != nil || a.status != 200 {
			t.Fatal(a.status, err)
		}
		for _, secret := range []string{"PI-SECRET", first.Number, first.ID, visit.ID} {
			whole, err := papers.ReadFile(a.body)
			if err != nil || bytes.Contains(whole.Record, []byte(secret)) {
				t.Errorf("the list tells %q (%v)", secret, err)
			}
		}
		return &l
	}
	before := list()
	forms := map[string][]byte{}
	for _, kind := range []string{"pdf", "xml", "record"} {
		b := p.file("/api/certificates/" + first.ID + "." + kind)
		if !bytes.Equal(b, p.file("/api/certificates/"+first.ID+"."+kind)) {
			t.Errorf("%s: not the same bytes twice", kind)
		}
		forms[kind] = b
		if found, err := papers.Check(b, before); err != nil || found.Number != first.Number || len(found.Notes) > 0 {
			t.Errorf("%s: %+v %v", kind, found, err)
		}
		rnd := rand.New(rand.NewPCG(3, uint64(len(b))))
		for range 150 {
			at, bit := rnd.IntN(len(b)), byte(1)<<rnd.IntN(8)
			b[at] ^= bit
			if found, err := papers.Check(b, before); err == nil {
				t.Fatalf("%s: bit %d of byte %d: %+v", kind, bit, at, found)
			}
			b[at] ^= bit
		}
	}
	p.reopen("reviewer", visit.ID, "a digit was mistyped")
	f.edit(f.state(visit.ID), set("remark.r2", doc{"text": "it was the other one"}))
	f.sign(f.state(visit.ID))
	second := f.approve(visit.ID)
	after := list()
	for kind, b := range forms {
		if !bytes.Equal(b, p.file("/api/certificates/"+first.ID+"."+kind)) {
			t.Errorf("%s: the replaced one's bytes are not kept", kind)
		}
		found, err := papers.Check(b, after)
		if err != nil || len(found.Notes) != 1 ||
			!strings.Contains(found.Notes[0], "certificate "+second.Number+" replaces it") {
			t.Errorf("%s: %+v %v", kind, found, err)
		}
	}
	b := p.file("/api/certificates/" + second.ID + ".record")
	found, err := papers.Check(b, after)
	if err != nil || len(found.Notes) != 1 ||
		!strings.Contains(found.Notes[0], "it replaces certificate "+first.Number) {
		t.Errorf("%+v %v", found, err)
	}
	record, err := papers.ReadFile(b)
	old, err2 := papers.ReadFile(forms["record"])
	if err != nil || err2 != nil ||
		!strings.Contains(string(record.Record), `"replaces_record":"`+old.Fingerprint()+`"`) {
		t.Errorf("the new record does not name the old one's fingerprint: %v %v", err, err2)
	}
}

// TestTheVerifyPage checks that the page for verifying a certificate needs no log-in and is not the
// client.
func TestTheVerifyPage(t *testing.T) {
	p := newPlant(t)
	if a := p.do("", "GET", "/verify", ""); a.status != 200 || !strings.Contains(string(a.body), "verify page") {
		t.Errorf("%d %s", a.status, a.body)
	}
}
