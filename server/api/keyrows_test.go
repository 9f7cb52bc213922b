package api_test

import (
	"encoding/json"
	"testing"

	"gaugewright/server/office"
)

// keyRows are the keys that a page of keys lists, by the id of their records.
func (p *testPlant) keyRows(who, path string) map[string]office.KeyRow {
	p.t.Helper()
	a := p.do(who, "GET", path, "")
	var in struct{ Keys []office.KeyRow }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%s %s: %d %s", who, path, a.status, a.body)
	}
	rows := map[string]office.KeyRow{}
	for _, k := range in.Keys {
		rows[k.ID] = k
	}
	return rows
}

// TestKeysPage goes through the states of keys as an administrator and their owner read them.
func TestKeysPage(t *testing.T) {
	p := newPlant(t)
	f, k := p.keyed(1)
	const all, own = "/api/office/keys", "/api/account/keys"
	fresh := p.keyRows("administrator", all)[k.id]
	if fresh.State != office.KeyGood || fresh.Used != "" || fresh.Signed != 0 ||
		fresh.Device != f.drafter.Device || fresh.Person != id("technician") || fresh.Alg != "Ed25519" {
		t.Errorf("a key that signed nothing: %+v", fresh)
	}
	if fresh.Kid != k.public.Thumbprint() || fresh.Name != "technician" || fresh.Made == "" {
		t.Errorf("%+v", fresh)
	}
	visit, _ := f.visit("PI-1", "pass", false)
	if why := f.signs(k, visit); why[0] != "" {
		t.Fatal(why)
	}
	used := p.keyRows("administrator", all)[k.id]
	if used.Used == "" || used.Signed != 1 {
		t.Errorf("after a signature: %+v", used)
	}
	if got := p.keyRows("technician", own); len(got) != 1 || got[k.id] != used {
		t.Errorf("its owner sees %+v", got)
	}
	if got := p.keyRows("reviewer", own); len(got) != 0 {
		t.Errorf("another sees %+v", got)
	}

	_, second := p.keyed(4)
	end := func(who string, k ring, body string) {
		t.Helper()
		if a := p.do(who, "POST", "/api/keys/"+k.id+"/end", body); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	end("administrator", k, `{"why":"left on the ferry","lost":true}`)
	end("technician", second, `{"why":"a new phone"}`)
	rows := p.keyRows("administrator", all)
	if got := rows[k.id]; got.State != office.KeyLost || got.Why != "left on the ferry" || got.Ended == "" {
		t.Errorf("lost: %+v", got)
	}
	if got := rows[second.id]; got.State != office.KeyWithdrawn || got.Why != "a new phone" {
		t.Errorf("withdrawn: %+v", got)
	}
	logged := map[string]string{}
	for _, e := range p.eventsOf("") {
		logged[e.Kind] = e.By + " of " + e.About + ": " + e.Detail
	}
	print := func(k ring) string { return " (" + k.public.Thumbprint()[:8] + ")" }
	for kind, want := range map[string]string{
		"key_lost":  "administrator of technician: left on the ferry" + print(k),
		"key_ended": "technician of technician: a new phone" + print(second),
	} {
		if logged[kind] != want {
			t.Errorf("%s: %q, not %q", kind, logged[kind], want)
		}
	}

	first := officeKey(t, p)
	if _, err := office.NewKey(p.store, p.now); err != nil {
		t.Fatal(err)
	}
	p.handler = p.open()
	end("administrator", p.anotherKey(7), `{"why":"the office speaks once more"}`)
	states := map[office.KeyState]int{}
	for _, row := range p.keyRows("administrator", all) {
		if row.Of == "office" {
			states[row.State]++
			if row.ID == first && row.State != office.KeyReplaced {
				t.Errorf("the first key of the office: %+v", row)
			}
		}
	}
	if states[office.KeyReplaced] != 1 || states[office.KeyGood] != 1 {
		t.Errorf("of the office: %v", states)
	}
}

// anotherKey is a further key of the technician.
func (p *testPlant) anotherKey(n byte) ring {
	p.t.Helper()
	_, k := p.keyed(n)
	return k
}
