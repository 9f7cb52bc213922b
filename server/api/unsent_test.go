package api_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"testing"

	"gaugewright/sync/change"
)

type unsentReply struct {
	Device      string
	Taken       int
	Known       int
	Quarantined []struct{ ID, Reason string }
	Photos      int
	Had         int                           `json:"photos_known"`
	Bad         []struct{ ID, Reason string } `json:"photos_refused"`
}

func (p *testPlant) unsentFile(changes []any, photos ...doc) string {
	return js(struct {
		Format  string `json:"format"`
		Device  doc    `json:"device"`
		More    string `json:"more"`
		Changes []any  `json:"changes"`
		Photos  []doc  `json:"photos"`
	}{
		"gaugewright-unsent-1", doc{"id": "d1", "seq": 3, "count": 9}, "of a newer program", changes,
		append([]doc{}, photos...),
	})
}

func photo(text string) (name string, in doc) {
	sum := sha256.Sum256([]byte(text))
	name = hex.EncodeToString(sum[:])
	return name, doc{"sha256": name, "type": "image/jpeg", "base64": base64.StdEncoding.EncodeToString([]byte(text))}
}

// TestUnsentFile checks that the work of a phone that cannot send is taken in from its file with
// its photos, judged by its authors. What may not be written or read is quarantined and delays
// nothing. The same file again changes nothing.
func TestUnsentFile(t *testing.T) {
	p := newPlant(t)
	who := id("technician")
	raw := func(c change.Change) any { return json.RawMessage(c.Bytes()) }
	numbered := func(ident, author, kind, field string) any { return raw(made(ident, author, kind, field)) }
	good, in := photo("a photo")
	_, cut := photo("another")
	cut["base64"] = "AAAA"
	file := p.unsentFile([]any{
		numbered("c1", who, "visit", "remark.a"), numbered("c2", who, "instrument", "limit"), numbered("c3", "n0b0dy", "visit", "remark.a"),
		numbered(
			"c4", id("reviewer"), "visit", "approval",
		), numbered("c5", id("reviewer"), "instrument", "tag"), "not a change", doc{"id": "c6"},
		numbered("c7", who, "run", "capture.a"),
	}, in, cut, doc{"sha256": "../x", "base64": ""})
	post := func(who, body string) (r unsentReply) {
		t.Helper()
		a := p.do(who, "POST", "/api/office/unsent", body)
		if a.status != 200 || json.Unmarshal(a.body, &r) != nil {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return r
	}
	for turn, who := range []string{"reviewer", "administrator"} {
		r := post(who, file)
		if r.Device != "d1" || r.Taken != 3*(1-turn) || r.Known != 3*turn || len(r.Quarantined) != 5 ||
			r.Photos != 1-turn || r.Had != turn || len(r.Bad) != 2 {
			t.Errorf("turn %d: %+v", turn, r)
		}
		held, err := p.store.Quarantined()
		if err != nil || len(held) != 5 {
			t.Errorf("turn %d: %d held, %v", turn, len(held), err)
		}
		last, err := p.store.Last()
		if err != nil || last != 3 {
			t.Errorf("turn %d: %d entries, %v", turn, last, err)
		}
	}
	if b, err := p.store.Blob(good); err != nil || string(b) != "a photo" {
		t.Errorf("%q, %v", b, err)
	}
	p.noted("unsent_taken", "reviewer", "", "3 changes, 1 photos of device d1")
	// The phone finds its line again and sends the same: everything is known.
	var sent struct{ Acknowledged, Quarantined []any }
	a := p.do(
		"technician", "POST", "/api/sync",
		push(made("c1", who, "visit", "remark.a"), made("c7", who, "run", "capture.a")),
	)
	if json.Unmarshal(a.body, &sent) != nil || len(sent.Acknowledged) != 2 {
		t.Errorf("%s", a.body)
	}

	var many []any
	for n := range 1203 {
		c := made(fmt.Sprintf("m%d", n), who, "visit", fmt.Sprintf("remark.%d", n))
		c.Record = "rmany"
		many = append(many, raw(c))
	}
	if r := post("reviewer", p.unsentFile(many)); r.Taken != 1203 || r.Known != 0 {
		t.Errorf("%+v", r)
	}
	for _, tt := range []struct {
		who, body string
		want      int
	}{
		{"", file, 401}, {"technician", file, 403}, {"reviewer", `{"format":"other"}`, 400}, {"reviewer", `{"changes":[]}`, 400}, {"reviewer", `[]`, 400}, {"reviewer", "", 400},
		{"reviewer", file[:len(file)-3], 400}, {"reviewer", `{"format":"gaugewright-unsent-1","changes":{}}`, 400},
	} {
		if a := p.do(tt.who, "POST", "/api/office/unsent", tt.body); a.status != tt.want {
			t.Errorf("%.60s as %q: %d, want %d: %s", tt.body, tt.who, a.status, tt.want, a.body)
		}
	}
	// A file that ends early is taken up to there.
	before, _ := p.store.Last()
	early := p.unsentFile([]any{numbered("e1", who, "visit", "remark.a"), numbered("e2", who, "visit", "remark.a")})
	if a := p.do("reviewer", "POST", "/api/office/unsent", early[:len(early)-40]); a.status != 400 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if after, _ := p.store.Last(); after <= before {
		t.Errorf("nothing of it was taken: %d, %d", before, after)
	}
}
