package api_test

import (
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// TestNothingIsDoneUnnoted checks that if the event log cannot be written, the action is not done
// either: both are one transaction.
func TestNothingIsDoneUnnoted(t *testing.T) {
	p := newPlant(t)
	held := made("c1", id("technician"), "visit", "approval")
	if a := p.do("technician", "POST", "/api/sync", push(held)); a.status != 200 {
		t.Fatal(a.status)
	}
	reviewer := "/api/users/" + id("reviewer") + "/person" // so that the office has its key and device from here on
	if a := p.do("administrator", "PUT", reviewer, `{"full":"Ilse Marn"}`); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	dir := p.store.Dir()
	if err := p.store.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		return tx.Bucket([]byte("meta")).Put([]byte("events"), []byte("damaged"))
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	if p.store, err = store.Open(dir); err != nil {
		t.Fatal(err)
	}
	again := p.store
	t.Cleanup(func() {
		if err := again.Close(); err != nil {
			t.Error(err)
		}
	})
	if p.keeper, err = auth.New(p.store, p.clock); err != nil {
		t.Fatal(err)
	}
	p.handler = p.open()
	// all is the state that events report about.
	all := func() string {
		out := ""
		for _, name := range []string{"users", "refresh", "keys", "office"} {
			err := p.store.Private(name).Each(func(k string, v []byte) error {
				out += fmt.Sprintf("%s %s %s\n", name, k, v)
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		h, err := p.store.HeldAt(1)
		if err != nil {
			t.Fatal(err)
		}
		return out + fmt.Sprint(h.Closed)
	}
	before := all()
	tech := "/api/users/" + id("technician")
	for _, s := range []struct{ who, method, path, body string }{
		{"", "POST", "/api/login", `{"name":"technician","password":"` + secret + `"}`},
		{"administrator", "POST", "/api/users", `{"name":"new","role":"technician"}`},
		{"administrator", "POST", "/api/users", `{"name":"new","role":"technician","password":"another long secret"}`},
		{"administrator", "PUT", tech + "/sites", `{"sites":[]}`},
		{"administrator", "PUT", tech + "/role", `{"role":"reviewer"}`},
		{"administrator", "PUT", tech + "/person", `{"full":"Tova Reen","function":"technician"}`},
		{"administrator", "POST", tech + "/password", `{"password":"another long secret"}`},
		{"administrator", "POST", tech + "/invite", ""},
		{"administrator", "POST", tech + "/revoke", ""},
		{"administrator", "POST", tech + "/restore", ""},
		{"administrator", "DELETE", tech + "/logins", ""},
		{"reviewer", "DELETE", "/api/logins", ""},
		{"reviewer", "POST", "/api/account/password", `{"old":"` + secret + `","new":"another long secret"}`},
		{"administrator", "PUT", "/api/office/letterhead", `{"name":"Lab","address":["here"],"customer":["them"]}`},
		{"reviewer", "POST", "/api/office/quarantine/1/reject", `{"reason":"made up"}`},
		{"administrator", "POST", "/api/backup", ""},
	} {
		if a := p.do(s.who, s.method, s.path, s.body); a.status != 500 {
			t.Errorf("%s %s: %d %s", s.method, s.path, a.status, a.body)
		}
		if now := all(); now != before {
			t.Fatalf("%s %s was done and not noted", s.method, s.path)
		}
	}
}
