package api_test

import (
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
)

// ring is a device's key, as a browser makes it.
type ring struct {
	private ed25519.PrivateKey
	public  statement.Key
	id      string // of its record
}

func newRing(t testing.TB, n byte) ring {
	t.Helper()
	seed := make([]byte, ed25519.SeedSize)
	seed[0] = n
	k := ring{private: ed25519.NewKeyFromSeed(seed)}
	k.public = statement.PublicOf(k.private)
	k.id = statement.RecordOf(k.public.Thumbprint())
	return k
}

// signs adds to a value a key's signature over it.
func (k ring) signs(t testing.TB, by, field, record string, value doc) doc {
	t.Helper()
	b, err := plant.Canonical(value)
	if err != nil {
		t.Fatal(err)
	}
	s, err := statement.Of(by, field, record, b)
	if err != nil {
		t.Fatal(err)
	}
	out := maps.Clone(value)
	out["proof"] = statement.Sign(k.private, s.Bytes())
	return out
}

// record is the first change of a key's record.
func (k ring) record(f *phone, person string) change.Change {
	f.t.Helper()
	value := k.signs(
		f.t, person, "key", k.id,
		doc{"public": k.public, "of": "person", "person": person, "made": plant.Stamp(f.now)},
	)
	return f.drafts(merge.State{ID: k.id, Kind: "key"}, set("public", value))
}

func (f *phone) content(visit string, covers []string) string {
	f.t.Helper()
	kids, err := f.store.Children(visit)
	if err != nil {
		f.t.Fatal(err)
	}
	c, err := plant.ContentOf(f.state(visit), kids, covers)
	if err != nil {
		f.t.Fatal(err)
	}
	return c
}

// signature is what a phone with a key signs for a visit as it is.
func (f *phone) signature(k ring, visit string) doc {
	f.t.Helper()
	covers := f.covers(visit)
	return k.signs(
		f.t, f.drafter.Author, "signature", visit,
		doc{
			"name": "T", "strokes": []any{}, "at": plant.Stamp(f.now), "covers": covers,
			"of": plant.SignedOf, "content": f.content(visit, covers),
		},
	)
}

type keyMarks struct {
	Attention []string
	Keys      plant.Marks
}

func (p *testPlant) marks(visit string) (out keyMarks) {
	p.t.Helper()
	a := p.do("administrator", "GET", "/api/office/visits/"+visit, "")
	if err := json.Unmarshal(a.body, &out); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return out
}

func (p *testPlant) wants(what string, got, want plant.Mark) {
	p.t.Helper()
	if got != want {
		p.t.Errorf("%s: %s, want %s", what, got, want)
	}
}

// keyed is a phone of the technician whose key the office knows, and a visit that waits for its
// signature.
func (p *testPlant) keyed(n byte) (*phone, ring) {
	p.t.Helper()
	f, k := p.phone(), newRing(p.t, n)
	f.drafter.Random = rand.NewChaCha8([32]byte{4, n})
	if why := p.sends("technician", k.record(f, id("technician"))); why[0] != "" {
		p.t.Fatal(why)
	}
	return f, k
}

func (f *phone) signs(k ring, visit merge.State) []string {
	f.t.Helper()
	summary := set(
		"summary", doc{"as_found": doc{"verdict": "pass", "worst_fraction": f.drafter.Seq, "points": []any{}}},
	) // as a phone writes it
	return f.sends("technician", f.drafts(f.state(visit.ID), summary, set("signature", f.signature(k, visit.ID))))
}

// reviewing is the browser of the reviewer, with a key.
func (p *testPlant) reviewing(n byte) (*phone, ring) {
	p.t.Helper()
	k := newRing(p.t, n)
	b := &phone{
		p,
		plant.Drafter{Device: fmt.Sprintf("brwser%d", n), Author: id("reviewer"), Random: rand.NewChaCha8([32]byte{3, n})},
	}
	if why := p.sends("reviewer", k.record(b, id("reviewer"))); why[0] != "" {
		p.t.Fatal(why)
	}
	return b, k
}

func (f *phone) approves(k ring, visit string) string {
	f.t.Helper()
	covers := f.covers(visit)
	said := k.signs(
		f.t, f.drafter.Author, "approval", visit,
		doc{"covers": covers, "of": plant.SignedOf, "content": f.content(visit, covers)},
	)
	return js(doc{"covers": covers, "proof": said["proof"]})
}

// TestSignedAndApprovedWithKeys goes from a device's key and a visit signed with it to an approval
// with the keys of the reviewer and the office, and back again.
func TestSignedAndApprovedWithKeys(t *testing.T) {
	p := newPlant(t)
	f, k := p.keyed(1)
	visit, run := f.visit("PI-1", "pass", false)
	if why := f.signs(k, visit); why[0] != "" {
		t.Fatal(why)
	}
	got := p.marks(visit.ID)
	p.wants("signature", got.Keys.Signature, plant.MarkGood)
	b, own := p.reviewing(2)
	path := "/api/office/visits/" + visit.ID
	remark := own.signs(
		t, id("reviewer"), "returned", visit.ID,
		doc{"of": headsOf(f.state(visit.ID), "signature"), "remark": "look again"},
	)
	if a := p.do("reviewer", "POST", path+"/return", js(doc{"remark": " look again ", "proof": remark["proof"]})); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	f.edit(f.state(run.ID), set("done.x", doc{"at": "x"}))
	if why := f.signs(k, visit); why[0] != "" {
		t.Fatal(why)
	}
	if a := p.do("reviewer", "POST", path+"/approve", b.approves(own, visit.ID)); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	got = p.marks(visit.ID)
	p.wants("signature", got.Keys.Signature, plant.MarkGood)
	p.wants("approval", got.Keys.Approval, plant.MarkGood)
	p.wants("office", got.Keys.Office, plant.MarkGood)
	state := f.state(visit.ID)
	reason := own.signs(
		t, id("reviewer"), "reopened", visit.ID,
		doc{"of": headsOf(state, "approval"), "signed": headsOf(state, "signature"), "reason": "a slip"},
	)
	if a := p.do("reviewer", "POST", path+"/reopen", js(doc{"reason": "a slip", "proof": reason["proof"]})); a.status != 200 {
		t.Errorf("%d %s", a.status, a.body)
	}
	// The office signs every decision as well, and each signature is valid.
	for _, field := range []string{"returned.", "reopened.", "approval"} {
		n := 0
		state := f.state(visit.ID)
		for i := range state.Fields {
			x := &state.Fields[i]
			if !strings.HasPrefix(x.Name, field) {
				continue
			}
			n++
			h := x.Heads[0]
			for _, member := range []string{statement.Proof, statement.Office} {
				said := plant.Said{By: h.Author, Field: x.Name, Record: visit.ID, Value: h.Value, Change: h.Change}
				if field == "approval" && member == statement.Proof {
					said.Without = []string{"certificate"}
				}
				mark, err := plant.MarkOf(p.store, p.store, said, member)
				if err != nil || mark != plant.MarkGood {
					t.Errorf("%s of %s: %s, %v", member, x.Name, mark, err)
				}
			}
		}
		if n == 0 {
			t.Errorf("no %s", field)
		}
	}
}

func headsOf(s merge.State, field string) (ids []string) {
	f, _ := s.Field(field)
	for _, h := range f.Heads {
		ids = append(ids, h.Change)
	}
	return ids
}

// TestWithoutAKey checks that visits signed by earlier versions stay as they were, and are shown as
// not signed with a key.
func TestWithoutAKey(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit := f.wholeVisit("PI-1")
	got := p.marks(visit.ID)
	p.wants("signature", got.Keys.Signature, plant.MarkNone)
	if slices.Contains(got.Attention, "key") {
		t.Error(got.Attention)
	}
	f.approve(visit.ID)
	got = p.marks(visit.ID)
	p.wants("approval", got.Keys.Approval, plant.MarkNone)
	p.wants("office", got.Keys.Office, plant.MarkGood)
}

// TestForgedSignatures checks that a signature which the key did not make is quarantined if that
// shows at once, and otherwise is not approved.
func TestForgedSignatures(t *testing.T) {
	p := newPlant(t)
	f, k := p.keyed(1)
	other := newRing(t, 9)
	b, own := p.reviewing(2)
	visit, _ := f.visit("PI-1", "pass", false)
	path := "/api/office/visits/" + visit.ID + "/approve"
	good := f.signature(k, visit.ID)
	altered := func(name string, value any) doc {
		out := maps.Clone(good)
		out[name] = value
		return out
	}
	for name, value := range map[string]doc{
		"another name":       altered("name", "Somebody Else"),
		"another time":       altered("at", "2026-03-03T05:06:07.000Z"),
		"less covered":       altered("covers", f.covers(visit.ID)[1:]),
		"other strokes":      altered("strokes", []any{[]int{1}}),
		"another content":    altered("content", strings.Repeat("a", 64)),
		"something besides":  altered("more", true),
		"no signature":       altered("proof", "x"),
		"of another visit":   k.signs(t, id("technician"), "signature", "an0ther", good),
		"as another field":   k.signs(t, id("technician"), "approval", visit.ID, good),
		"by another person":  k.signs(t, id("reviewer"), "signature", visit.ID, good),
		"the reviewer's key": own.signs(t, id("technician"), "signature", visit.ID, good),
	} {
		if why := p.sends("technician", f.drafts(f.state(visit.ID), set("signature", value)))[0]; !strings.Contains(why, "by a key") {
			t.Errorf("%s: %q", name, why)
		}
	}
	// A key that is not on record may be on its way.
	if why := f.signs(other, visit); why[0] != "" {
		t.Fatal(why)
	}
	p.wants("signature", p.marks(visit.ID).Keys.Signature, plant.MarkUnknown)
	p.refused("key", 409, "reviewer", path, b.approves(own, visit.ID))
	// A content that the record does not have, and a field beside the signature, which it cannot
	// cover.
	wrong := f.signature(k, visit.ID)
	wrong["content"] = strings.Repeat("b", 64)
	for name, sets := range map[string][]plant.Set{
		"content":    {set("signature", k.signs(t, id("technician"), "signature", visit.ID, wrong))},
		"beside one": {set("signature", good), set("item", item("FORGED"))},
	} {
		next, _ := f.visit("PI-"+strings.ReplaceAll(name, " ", "-"), "pass", false)
		for i := range sets {
			if sets[i].Field == "signature" {
				value := f.signature(k, next.ID)
				if name == "content" {
					value["content"] = wrong["content"]
					value = k.signs(t, id("technician"), "signature", next.ID, value)
				}
				sets[i].Value = value
			}
		}
		if why := p.sends("technician", f.drafts(f.state(next.ID), sets...))[0]; why != "" {
			t.Fatal(why)
		}
		got := p.marks(next.ID)
		p.wants(name, got.Keys.Signature, plant.MarkBad)
		if len(got.Attention) == 0 {
			t.Errorf("%s: nothing needs an eye", name)
		}
		p.refused("key", 409, "reviewer", "/api/office/visits/"+next.ID+"/approve", b.approves(own, next.ID))
	}
	// A reviewer's key that belongs to another, and a decision that it did not sign.
	if why := f.signs(k, visit); why[0] != "" {
		t.Fatal(why)
	}
	p.refused("key", 409, "reviewer", path, b.approves(k, visit.ID))
	p.refused("key", 409, "reviewer", path, b.approves(other, visit.ID))
	p.refused(
		"key", 409, "reviewer", "/api/office/visits/"+visit.ID+"/return",
		js(
			doc{
				"remark": "x", "proof": own.signs(t, id("reviewer"), "returned", visit.ID, doc{"remark": "y"})["proof"],
			},
		),
	)
	if a := p.do("reviewer", "POST", path, b.approves(own, visit.ID)); a.status != 200 {
		t.Errorf("%d %s", a.status, a.body)
	}
}

// TestKeysAreWrittenOnce checks that a key's record states its owner once, with the key's own
// signature, and that nobody can push what the office states about keys.
func TestKeysAreWrittenOnce(t *testing.T) {
	p := newPlant(t)
	f, k := p.keyed(1)
	fresh := newRing(t, 7)
	person := id("technician")
	value := doc{"public": fresh.public, "of": "person", "person": person, "made": "x"}
	good := fresh.signs(t, person, "key", fresh.id, value)
	office := maps.Clone(value)
	office["of"], office["person"] = "office", ""
	theirs := maps.Clone(value)
	theirs["person"] = id("reviewer")
	for name, c := range map[string]change.Change{
		"once more":             k.record(f, person),
		"without its signature": f.drafts(merge.State{ID: fresh.id, Kind: "key"}, set("public", value)),
		"signed by another": f.drafts(
			merge.State{ID: fresh.id, Kind: "key"},
			set("public", k.signs(t, person, "key", fresh.id, value)),
		),
		"under another id": f.drafts(merge.State{ID: "an0therk3y", Kind: "key"}, set("public", good)),
		"as the office's": f.drafts(
			merge.State{ID: fresh.id, Kind: "key"},
			set("public", fresh.signs(t, person, "key", fresh.id, office)),
		),
		"for somebody else": f.drafts(
			merge.State{ID: fresh.id, Kind: "key"},
			set("public", fresh.signs(t, person, "key", fresh.id, theirs)),
		),
		"confirmed by itself": f.drafts(
			merge.State{ID: fresh.id, Kind: "key"}, set("public", good),
			set("vouched", doc{"at": "x", "office": "x"}),
		),
		"the end of an office's": f.drafts(
			merge.State{ID: officeKey(t, p), Kind: "key"}, set("ended", doc{"at": "x", "why": "y"}),
		),
	} {
		if why := p.sends("technician", c)[0]; why == "" {
			t.Errorf("%s is taken", name)
		}
	}
	if why := p.sends("technician", f.drafts(merge.State{ID: fresh.id, Kind: "key"}, set("public", good)))[0]; why != "" {
		t.Error(why)
	}
}

func (p *testPlant) ring() (r office.Ring) {
	p.t.Helper()
	a := p.do("technician", "GET", "/api/keys", "")
	if err := json.Unmarshal(a.body, &r); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return r
}

func officeKey(t testing.TB, p *testPlant) string {
	t.Helper()
	for _, k := range p.ring().Keys {
		if k.Of == "office" {
			return k.ID
		}
	}
	t.Fatal("the office has no key")
	return ""
}

// TestAHubDoesNotSpeakForAReviewer checks that a decision pushed by a hub needs the reviewer's own
// key, and that a key the hub made up for them is not confirmed.
func TestAHubDoesNotSpeakForAReviewer(t *testing.T) {
	p := newPlant(t)
	p.another("hub", auth.Hub)
	f, k := p.keyed(1)
	visit, _ := f.visit("PI-1", "pass", false)
	if why := f.signs(k, visit); why[0] != "" {
		t.Fatal(why)
	}
	h := &phone{p, plant.Drafter{Device: "h0bdev", Author: id("reviewer"), Random: rand.NewChaCha8([32]byte{5})}}
	forged := newRing(t, 8) // the hub registers it in the reviewer's name
	if why := p.sends("hub", forged.record(h, id("reviewer"))); why[0] != "" {
		t.Fatal(why)
	}
	covers := f.covers(visit.ID)
	approval := doc{"covers": covers, "of": plant.SignedOf, "content": f.content(visit.ID, covers)}
	returned := doc{"of": headsOf(f.state(visit.ID), "signature"), "remark": "x"}
	const want = "own key"
	for name, sets := range map[string]plant.Set{
		"without a key":              set("approval", approval),
		"with one of its own making": set("approval", forged.signs(t, id("reviewer"), "approval", visit.ID, approval)),
		"the technician's":           set("approval", k.signs(t, id("reviewer"), "approval", visit.ID, approval)),
		"sent back":                  set("returned.x", returned),
		"opened again": set(
			"reopened.x",
			forged.signs(t, id("reviewer"), "reopened", visit.ID, doc{"of": []string{}, "reason": "x"}),
		),
	} {
		if why := p.sends("hub", h.drafts(f.state(visit.ID), sets))[0]; !strings.Contains(why, want) {
			t.Errorf("%s: %q", name, why)
		}
	}
	if got := p.status(visit.ID); got != plant.Signed {
		t.Fatal(got)
	}
	_, own := p.reviewing(2) // at the office itself
	said := own.signs(t, id("reviewer"), "approval", visit.ID, approval)
	said["certificate"] = ""
	if why := p.sends("hub", h.drafts(f.state(visit.ID), set("approval", said)))[0]; why != "" ||
		p.status(visit.ID) != plant.Approved {
		t.Errorf("%q %s", why, p.status(visit.ID))
	}
	// A technician's key that came through the hub stays unconfirmed until office staff confirm it.
	fresh := newRing(t, 11)
	if why := p.sends("hub", fresh.record(f, id("technician")))[0]; why != "" {
		t.Fatal(why)
	}
	next, _ := f.visit("PI-2", "pass", false)
	if why := f.signs(fresh, next); why[0] != "" {
		t.Fatal(why)
	}
	p.wants("before", p.marks(next.ID).Keys.Signature, plant.MarkUnconfirmed)
	p.refused("role", 403, "reviewer", "/api/keys/"+fresh.id+"/confirm", "{}")
	if a := p.do("administrator", "POST", "/api/keys/"+fresh.id+"/confirm", "{}"); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if got := p.eventsOf("")[0]; got.Kind != "key_confirmed" || got.By != "administrator" || got.About != "technician" {
		t.Errorf("noted: %+v", got)
	}
	p.wants("after", p.marks(next.ID).Keys.Signature, plant.MarkGood)
}

// TestKeysComeAndGo covers a lost phone, a new one, a person who retires, and the office's own key
// replaced by another.
func TestKeysComeAndGo(t *testing.T) {
	p := newPlant(t)
	f, lost := p.keyed(1)
	before, _ := f.visit("PI-1", "pass", false)
	if why := f.signs(lost, before); why[0] != "" {
		t.Fatal(why)
	}
	path := "/api/keys/" + lost.id + "/end"
	p.refused("role", 403, "reviewer", path, `{"why":"not mine"}`)
	p.refused("range", 400, "technician", path, `{"why":""}`)
	if a := p.do("technician", "POST", path, `{"why":"the phone was lost"}`); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	p.refused("not_found", 404, "technician", path, `{"why":"once more"}`)
	p.refused("not_found", 404, "administrator", "/api/keys/n0where/end", `{"why":"x"}`)
	p.wants("signed before", p.marks(before.ID).Keys.Signature, plant.MarkGood)
	after, _ := f.visit("PI-2", "pass", false)
	if why := f.signs(lost, after); why[0] != "" { // it is kept, and the office decides
		t.Fatal(why)
	}
	p.wants("signed after", p.marks(after.ID).Keys.Signature, plant.MarkEnded)
	p.refused("key", 409, "reviewer", "/api/office/visits/"+after.ID+"/approve", js(doc{"covers": f.covers(after.ID)}))

	g, next := p.keyed(4) // a new phone
	g.drafter.Count = f.drafter.Count + 10
	if why := g.signs(next, after); why[0] != "" {
		t.Fatal(why)
	}
	p.wants("signed again", p.marks(after.ID).Keys.Signature, plant.MarkGood)
	f.approve(after.ID)

	// The office takes another key: what the first one signed stays valid, what follows is signed
	// by the second, which the first vouches for.
	first := officeKey(t, p)
	if _, err := office.NewKey(p.store, p.now); err != nil {
		t.Fatal(err)
	}
	p.handler = p.open()
	f.approve(before.ID)
	for _, v := range []string{before.ID, after.ID} {
		p.wants("by the office", p.marks(v).Keys.Office, plant.MarkGood)
	}
	var ended, used int
	for _, k := range p.ring().Keys {
		if k.Of != "office" {
			continue
		}
		if k.Ended != nil && k.ID == first {
			ended++
		} else if k.Ended == nil {
			used++
		}
	}
	if ended != 1 || used != 1 {
		t.Errorf("%+v", p.ring())
	}
	kid, err := statement.KeyOf(statement.SignatureIn(mustValue(t, f.state(before.ID), "approval"), statement.Office))
	if err != nil || statement.RecordOf(kid) == first {
		t.Error("the first key is used on", err)
	}

	// A person retires: nothing more by their keys is accepted, what they signed stays valid.
	if a := p.do("administrator", "POST", "/api/users/"+id("technician")+"/revoke", "{}"); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	a := p.do("reviewer", "GET", "/api/keys", "")
	var r office.Ring
	if err := json.Unmarshal(a.body, &r); err != nil || a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	for _, k := range r.Keys {
		if k.Person == id("technician") && k.Ended == nil {
			t.Errorf("in use still: %+v", k)
		}
	}
	seen := map[string]bool{}
	for _, e := range p.events() {
		seen[e] = true
	}
	for _, kind := range []string{"key_added", "key_ended"} {
		if !seen[kind] {
			t.Errorf("the event log has no %s: %v", kind, seen)
		}
	}
	p.wants("signed while here", p.marks(after.ID).Keys.Signature, plant.MarkGood)
}

func mustValue(t testing.TB, s merge.State, field string) []byte {
	t.Helper()
	v, ok := s.Value(field)
	if !ok {
		t.Fatalf("no %s", field)
	}
	return v
}

// events lists the kinds of the entries in the event log.
func (p *testPlant) events() (kinds []string) {
	p.t.Helper()
	a := p.do("administrator", "GET", "/api/events", "")
	var in struct{ Events []struct{ Kind string } }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	for _, e := range in.Events {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}
