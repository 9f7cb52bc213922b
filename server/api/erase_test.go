package api_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/verify"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// TestErasedValuesKeepTheProofs checks that an administrator can erase names, strokes and remarks
// of an approved visit with a reason. Nothing of them stays in the journal, here or at a hub.
// Signatures, approvals and certificates still verify with the public keys alone, and any changed
// bit is found. Values that are pushed again are acknowledged as known.
func TestErasedValuesKeepTheProofs(t *testing.T) {
	p, certificate, visit := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	document := p.file("/api/certificates/" + certificate + ".pdf")
	marks := p.marks(visit)
	var whole []change.Change
	last, err := p.store.Last()
	if err != nil {
		t.Fatal(err)
	}
	all, _, err := p.store.Since(0, int(last), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		whole = append(whole, e.Change)
	}
	path := "/api/office/visits/" + visit + "/erase"
	p.personal(visit, "remark.r1", "remark.r2", "signature")
	for _, tt := range []struct {
		who, body string
		want      int
	}{
		{"technician", `{"fields":["signature"],"reason":"asked for"}`, 403},
		{"reviewer", `{"fields":["signature"],"reason":"asked for"}`, 403},
		{"administrator", `{"fields":["signature"],"reason":" "}`, 400},
		{"administrator", `{"fields":["item"],"reason":"asked for"}`, 422},
		{"administrator", `{"fields":["remark.none"],"reason":"asked for"}`, 404},
		{"administrator", `{"fields":["signature","remark.r1","remark.r2"],"reason":"asked for"}`, 204},
		{"administrator", `{"fields":["signature"],"reason":"asked for"}`, 404},
	} {
		if a := p.do(tt.who, "POST", path, tt.body); a.status != tt.want {
			t.Fatalf("%+v: %d %s", tt, a.status, a.body)
		}
	}
	p.personal(visit)
	if got := p.eventsOf("")[0]; got.Kind != "values_erased" || got.By != "administrator" ||
		!strings.Contains(got.Detail, "asked for") {
		t.Errorf("%+v", got)
	}
	gone := func(what string, s *store.Store) {
		t.Helper()
		entries, err := s.History(visit)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			for _, text := range []string{`"name":"T"`, `"strokes"`, "the other one", "the valve <was>"} {
				b := e.Change.Bytes()
				if bytes.Contains(b, []byte(text)) && !strings.Contains(string(b), `"members":`) {
					t.Errorf("%s: %q is in %s", what, text, b)
				}
			}
		}
	}
	gone("the office", p.store)
	if now := p.marks(visit); now.Keys != marks.Keys ||
		strings.Join(now.Attention, " ") != strings.Join(marks.Attention, " ") {
		t.Errorf("%+v, before %+v", now, marks)
	}
	// A phone or a hub offers them again.
	if r, err := p.store.Add(t.Context(), whole); err != nil || len(r.Refused) > 0 || len(r.Accepted) > 0 {
		t.Errorf("%+v, %v", r, err)
	}
	// A hub that had them receives the erasure.
	hub, err := store.Open(filepath.Join(t.TempDir(), "hub"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := hub.Close(); err != nil {
			t.Error(err)
		}
	}()
	if r, err := hub.Add(t.Context(), whole); err != nil || len(r.Refused) > 0 {
		t.Fatal(r, err)
	}
	news, _, err := p.store.Since(last, 100, nil)
	if err != nil || len(news) == 0 {
		t.Fatal(news, err)
	}
	for _, e := range news {
		if r, err := hub.Add(t.Context(), []change.Change{e.Change}); err != nil || len(r.Refused) > 0 {
			t.Fatal(r, err)
		}
	}
	gone("the hub", hub)
	here, _, err := p.store.Record(visit)
	there, _, err2 := hub.Record(visit)
	if err := errors.Join(err, err2); err != nil || !bytes.Equal(here.Bytes(), there.Bytes()) {
		t.Errorf("%v\n%s\n%s", err, here.Bytes(), there.Bytes())
	}
	// Only the office erases.
	one := news[len(news)-1].Change
	one.ID, one.Author, one.Device, one.Stamp.Device = "c9", id("administrator"), "d77", "d77"
	if why := p.pushed("administrator", one); !strings.Contains(why, "the office's own routes only") {
		t.Errorf("pushed: %q", why)
	}
	record := p.file("/api/certificates/" + certificate + ".json")
	if r, err := verify.Record(record, document, ring); err != nil || r.Certificates != 2 {
		t.Fatalf("%+v %v", r, err)
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		i, bit := rnd.IntN(len(record)), byte(1)<<rnd.IntN(8)
		record[i] ^= bit
		if _, err := verify.Record(record, document, ring); !errors.Is(err, verify.ErrNot) {
			t.Fatalf(
				"bit %d of byte %d of the record, in %q: %v", bit, i, record[max(0, i-20):min(len(record), i+20)], err,
			)
		}
		record[i] ^= bit
	}
	for _, x := range [][2]string{{`\"at\":`, `\"aT\":`}, {`"leaf":"`, `"leaf":"0`}} {
		broken(t, x[0], "", second(verify.Record(bytes.Replace(record, []byte(x[0]), []byte(x[1]), 1), document, ring)))
	}
	dir := p.closed()
	if r, err := store.Check(dir); err != nil || len(r.Damage) > 0 ||
		!strings.Contains(strings.Join(r.Notes, "\n"), "personal values were erased") {
		t.Fatal(r, err)
	}
	if r, err := verify.Folder(dir, ring); err != nil || r.Statements[plant.MarkGood] < 12 {
		t.Fatalf("%+v %v", r, err)
	}
}

// TestErasedNameOfAPerson checks that a full name is erased from the record and from all earlier
// values. The person then goes by the account's name, certificates keep their text, and all proofs
// verify. The person can be named again.
func TestErasedNameOfAPerson(t *testing.T) {
	p, certificate, visit := proven(t)
	ring := ringOf(t, p.file("/api/keys"))
	document := p.file("/api/certificates/" + certificate + ".pdf")
	person := id("technician")
	identify := func(body string) {
		t.Helper()
		if a := p.do("administrator", "PUT", "/api/users/"+person+"/person", body); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	identify(`{"full":"Tova Reen","function":"of the north hall"}`)
	identify(`{"full":"Tova Reen-Alm","function":"of the north hall"}`)
	path := "/api/office/people/" + person
	for _, tt := range []struct {
		who, path, body string
		want            int
	}{
		{"reviewer", path, `{"fields":["name"],"reason":"asked for"}`, 403},
		{"administrator", path, `{"fields":["name"],"reason":""}`, 400},
		{"administrator", path, `{"fields":["role"],"reason":"asked for"}`, 422},
		{"administrator", "/api/office/people/" + visit, `{"fields":["signature"],"reason":"asked for"}`, 404},
		{"administrator", "/api/office/visits/" + person, `{"fields":["name"],"reason":"asked for"}`, 404},
		{"administrator", path, `{"fields":["name","function"],"reason":"asked for"}`, 204},
		{"administrator", path, `{"fields":["name"],"reason":"asked for"}`, 404},
	} {
		if a := p.do(tt.who, "POST", tt.path+"/erase", tt.body); a.status != tt.want {
			t.Fatalf("%+v: %d %s", tt, a.status, a.body)
		}
	}
	last, err := p.store.Last()
	if err != nil {
		t.Fatal(err)
	}
	all, _, err := p.store.Since(0, int(last), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		for _, s := range e.Change.Set {
			if e.Change.Record == person && strings.Contains(string(s.Value), "Reen") {
				t.Errorf("entry %d still has %s", e.Seq, s.Value)
			}
		}
	}
	for _, e := range p.eventsOf("") {
		if strings.Contains(e.Detail, "Reen") {
			t.Errorf("the event log has %+v", e)
		}
	}
	one, err := plant.LoadPerson(p.store, person)
	if err != nil || one.Name != "" || one.Function != "" || one.Role != "technician" {
		t.Errorf("%+v %v", one, err)
	}
	if got := string(p.do("administrator", "GET", "/api/users", "").body); strings.Contains(got, "Reen") {
		t.Error(got)
	}
	// The certificate still says the same.
	if again := p.file("/api/certificates/" + certificate + ".pdf"); !bytes.Equal(again, document) {
		t.Error("the certificate changed")
	}
	// Only the office records an erasure.
	forged := all[len(all)-1].Change
	if forged.Kind != "person" {
		t.Fatalf("%+v", forged)
	}
	forged.ID, forged.Author, forged.Device, forged.Stamp.Device = "c9", id("administrator"), "d77", "d77"
	if why := p.pushed("administrator", forged); !strings.Contains(why, "the office's own routes only") {
		t.Errorf("pushed: %q", why)
	}
	identify(`{"full":"T. R.","function":""}`)
	if one, err = plant.LoadPerson(p.store, person); err != nil || one.Name != "T. R." {
		t.Errorf("%+v %v", one, err)
	}
	dir := p.closed()
	if r, err := store.Check(dir); err != nil || len(r.Damage) > 0 {
		t.Fatal(r, err)
	}
	if r, err := verify.Folder(dir, ring); err != nil || r.Statements[plant.MarkGood] < 12 {
		t.Fatalf("%+v %v", r, err)
	}
}

// TestErasedAgainAfterARestore: an older copy has values that were erased since. When it is served
// they are erased again, from the list beside the backups; so is a change that the copy lacks and
// that somebody pushes in its original form. New values of the same fields stay.
func TestErasedAgainAfterARestore(t *testing.T) {
	p := newPlant(t)
	beside, lost := t.TempDir(), t.TempDir()
	p.erasedIn = []string{lost, beside}
	p.handler = p.open()
	f := p.phone()
	early := f.wholeVisit("PI-1")
	f.edit(f.state(early.ID), set("remark.r1", doc{"text": "Tova was ill"}))
	var backup strings.Builder
	if err := p.store.Backup(&backup, false); err != nil {
		t.Fatal(err)
	}
	last, err := p.store.Last()
	if err != nil {
		t.Fatal(err)
	}
	late := f.wholeVisit("PI-2")
	f.edit(f.state(late.ID), set("remark.r1", doc{"text": "Tova was late"}))
	since, _, err := p.store.Since(last, 1000, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []string{early.ID, late.ID} {
		body := `{"fields":["remark.r1"],"reason":"asked for"}`
		if a := p.do("administrator", "POST", "/api/office/visits/"+v+"/erase", body); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	// The folder is lost; the list beside the backups is not.
	f.erasedIn = []string{t.TempDir(), beside}
	g := f.restored(backup.String())
	has := func(what string, want bool) {
		t.Helper()
		last, err := g.store.Last()
		if err != nil {
			t.Fatal(err)
		}
		all, _, err := g.store.Since(0, int(last), nil)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, e := range all {
			found = found || strings.Contains(string(e.Change.Bytes()), what)
		}
		if found != want {
			t.Errorf("%q: in the journal %v, want %v", what, found, want)
		}
	}
	has("Tova was ill", false)
	g.edit(g.state(early.ID), set("remark.r1", doc{"text": "the dial was dirty"}))
	var list []change.Change
	for _, e := range since {
		list = append(list, e.Change)
	}
	g.push(list...)
	has("Tova was late", false)
	g.handler = g.open()
	has("the dial was dirty", true)
	again := 0
	for _, e := range g.eventsOf("") {
		if e.Kind == "values_erased_again" {
			again++
		}
	}
	if again != 2 {
		t.Errorf("erased again %d times", again)
	}
	// A new folder gets the list's contents.
	for _, dir := range f.erasedIn {
		b, err := os.ReadFile(filepath.Join(dir, office.ErasedList))
		if err != nil || bytes.Count(b, []byte("\n")) < 2 || bytes.Contains(b, []byte("Tova")) {
			t.Errorf("%s: %s %v", dir, b, err)
		}
	}
}

// personal compares what an administrator is shown as erasable in a visit with the wanted fields.
func (p *testPlant) personal(visit string, want ...string) {
	p.t.Helper()
	path := "/api/office/visits/" + visit + "/personal"
	for _, who := range []string{"technician", "reviewer"} {
		if a := p.do(who, "GET", path, ""); a.status != 403 {
			p.t.Errorf("%s: %d", who, a.status)
		}
	}
	a := p.do("administrator", "GET", path, "")
	var in struct{ Values []office.PersonalValue }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	var fields []string
	for _, v := range in.Values {
		fields = append(fields, v.Field)
		if v.Text == "" || v.By == "" || v.Changes == 0 || len(v.Members) == 0 {
			p.t.Errorf("%+v", v)
		}
	}
	if strings.Join(fields, " ") != strings.Join(want, " ") {
		p.t.Errorf("it lists %v, not %v", fields, want)
	}
}

func second(_ verify.Report, err error) error { return err }
