package api_test

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

type paper struct {
	ID, Number, Replaces, Why, Different string
	ReplacedBy                           string `json:"replaced_by"`
	InForce                              bool   `json:"in_force"`
	Machine                              bool
}

type officeVisit struct {
	Status       string
	Attention    []string
	Changed      []string
	Certificates []paper
	History      []struct{ Set []struct{ Field string } }
}

func (p *testPlant) look(visit string) (in officeVisit) {
	p.t.Helper()
	a := p.do("reviewer", "GET", "/api/office/visits/"+visit, "")
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return in
}

// state reads a record in the state that the phone has after an exchange.
func (f *phone) state(id string) merge.State {
	f.t.Helper()
	s, ok, err := f.store.Record(id)
	if err != nil || !ok {
		f.t.Fatal(ok, err)
	}
	if f.drafter.Count, err = plant.HighestCount(f.store); err != nil {
		f.t.Fatal(err)
	}
	return s
}

// give sends a change as the technician's phone does and returns why it was quarantined, or "".
func (f *phone) give(c change.Change, err error) string {
	f.t.Helper()
	if err != nil {
		f.t.Fatal(err)
	}
	a := f.do("technician", "POST", "/api/sync", push(c))
	var r struct {
		Acknowledged []string
		Quarantined  []struct{ Reason string }
	}
	if err := json.Unmarshal(a.body, &r); err != nil || len(r.Acknowledged)+len(r.Quarantined) != 1 {
		f.t.Fatalf("%d %s", a.status, a.body)
	}
	if len(r.Quarantined) == 1 {
		return r.Quarantined[0].Reason
	}
	return ""
}

func (p *testPlant) reopen(who, visit, reason string) {
	p.t.Helper()
	if a := p.do(who, "POST", "/api/office/visits/"+visit+"/reopen", js(doc{"reason": reason})); a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
}

// TestAnApprovedVisitIsAmended follows ISO/IEC 17025, 7.8.8 from start to end: the visit is
// reopened with a reason, corrected, signed and approved. A new certificate with its own number
// names the one that it replaces, which stays.
func TestAnApprovedVisitIsAmended(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	if a := p.do("administrator", "PUT", "/api/office/letterhead", head); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	visit := f.wholeVisit("PI-1")
	first := f.approve(visit.ID)
	runs, err := plant.Runs(p.store, visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	old := p.do("technician", "GET", "/api/certificates/"+first.ID+".pdf", "").body
	correct := func(name string, count bool, fields doc) string {
		t.Helper()
		run := f.state(runs[0].ID)
		if !count {
			f.drafter.Count = 0 // written before the phone knew of the reopening
		}
		c, _, err := f.drafter.Edit(run, p.now, set("capture."+name, fields))
		return f.give(c, err)
	}
	better := doc{
		"step": "s1.up.1", "of": "indicated", "value": "5.0", "unit": "bar", "at": plant.Stamp(p.now),
		"supersedes": "c1", "reason": "read again in the notes",
	}
	without := func(field string) doc {
		d := doc{}
		for k, v := range better {
			if k != field {
				d[k] = v
			}
		}
		return d
	}
	if why := correct("x1", true, better); !strings.Contains(why, "opens it again") {
		t.Error("while it is approved:", why)
	}
	p.reopen("reviewer", visit.ID, " a reading was taken over wrongly ")
	got := p.look(visit.ID)
	if got.Status != "reopened" || !slices.Contains(got.Attention, "reopened") || len(got.Certificates) != 1 ||
		got.Certificates[0].InForce || got.Certificates[0].ReplacedBy != "" {
		t.Errorf("%+v", got)
	}
	p.refused("unsigned", 409, "administrator", "/api/office/visits/"+visit.ID+"/reopen", `{"reason":"twice"}`)
	p.refused(
		"unsigned", 409, "administrator", "/api/office/visits/"+visit.ID+"/approve",
		js(doc{"covers": f.covers(visit.ID)}),
	)
	for _, tt := range []struct {
		name, want string
		count      bool
		capture    doc
	}{
		{"x2", "a further reading belongs to a new run", true, without("supersedes")},
		{"x3", "states its reason", true, without("reason")},
		{"x4", "a further reading belongs to a new run", false, better},
		{"x5", "", true, better},
	} {
		if why := correct(tt.name, tt.count, tt.capture); (tt.want == "") != (why == "") ||
			!strings.Contains(why, tt.want) {
			t.Errorf("%s: %q, want %q", tt.name, why, tt.want)
		}
	}
	f.edit(f.state(visit.ID), set("surroundings", doc{"temperature_c": "22.5"}))
	f.renew(runs[0].ID)
	f.sign(f.state(visit.ID))
	if got := p.look(visit.ID); got.Status != "signed" || !slices.Contains(got.Attention, "amended") ||
		!slices.Contains(got.Attention, "superseded") {
		t.Errorf("%+v", got.Attention)
	}
	second := f.approve(visit.ID)
	if second.Number != "2026-00002" || second.Without != "" {
		t.Fatalf("%+v", second)
	}
	got = p.look(visit.ID)
	if got.Status != "approved" || len(got.Certificates) != 2 {
		t.Fatalf("%+v", got)
	}
	a, b := got.Certificates[0], got.Certificates[1]
	if a.Number != first.Number || a.ReplacedBy != b.Number || a.InForce || b.Replaces != a.Number || !b.InForce || b.ReplacedBy != "" || b.Why != "a reading was taken over wrongly" ||
		!strings.Contains(b.Different, "the conditions (Conditions: 21 °C is now 22.5 °C)") || !strings.Contains(
		b.Different, "5.1 is now 5.0 bar (read again in the notes)",
	) {
		t.Errorf("%+v\n%+v", a, b)
	}
	if again := p.do("technician", "GET", "/api/certificates/"+first.ID+".pdf", "").body; !bytes.Equal(old, again) ||
		!bytes.HasPrefix(old, []byte("%PDF-")) {
		t.Error("the earlier certificate is not what it was")
	}
	kept, err := plant.All(p.store, "certificate", plant.ReadCertificate)
	if err != nil || len(kept) != 2 || kept[0].Replaces+kept[1].Replaces != first.Number || kept[0].PDF == kept[1].PDF {
		t.Errorf("%+v %v", kept, err)
	}
	var opened int
	for _, h := range got.History {
		for _, s := range h.Set {
			if strings.HasPrefix(s.Field, "reopened.") || s.Field == "approval" {
				opened++
			}
		}
	}
	if opened != 3 {
		t.Error("approved, opened again and approved stand in the history:", opened)
	}
	p.refused("issued", 409, "reviewer", "/api/office/visits/"+visit.ID+"/certificate", "")
	out := printed(t, p.do("reviewer", "GET", "/api/certificates/"+second.ID+".pdf", "").body)
	words := regexp.MustCompile(`[ \n]+`).ReplaceAllString(out, " ")
	for _, want := range []string{"No. 2026-00002", "replaces No. 2026-00001, which is no longer valid", "Reason a reading was taken over wrongly", "5.1 is now 5.0 bar", "22.5 °C"} {
		if !strings.Contains(words, want) {
			t.Errorf("the new certificate lacks %q", want)
		}
	}
}

// TestACertificateIsDrawnFromItsRecord checks that a certificate without a kept document is drawn
// on demand, the same each time, from the record as it was when the certificate was written.
func TestACertificateIsDrawnFromItsRecord(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	visit := f.wholeVisit("PI-1")
	first := f.approve(visit.ID)
	kept, err := plant.All(p.store, "certificate", plant.ReadCertificate)
	if err != nil {
		t.Fatal(err)
	}
	state := f.state(visit.ID)
	// Apart from its number it states the same as the one written with the approval.
	drawn := func(fingerprint string) string {
		f.drafter.Author = id("reviewer")
		defer func() { f.drafter.Author = id("technician") }()
		c := f.keep(f.drafter.New("certificate", "", state.ID, p.now, set("number", first.Number), set("issued", kept[0].Issued), set("by", id("reviewer")), set("fingerprint", fingerprint),
			set(
				"letterhead",
				doc{
					"name": "Works laboratory", "address": []string{"1 Dock Road"},
					"customer": []string{"Works North"}, "base": "http://example.com",
				},
			)))
		return "/api/certificates/" + c.ID + ".pdf"
	}
	path := drawn(kept[0].Fingerprint)
	before := p.do("technician", "GET", path, "")
	if written := p.do("technician", "GET", "/api/certificates/"+first.ID+".pdf", ""); before.status != 200 ||
		!bytes.Equal(before.body, written.body) {
		t.Errorf("%d: drawn it is not what was written", before.status)
	}
	p.reopen("reviewer", visit.ID, "x")
	f.edit(f.state(visit.ID), set("surroundings", doc{"temperature_c": "30"}))
	f.renewAll(visit.ID)
	f.sign(f.state(visit.ID))
	f.approve(visit.ID)
	if after := p.do("technician", "GET", path, ""); !bytes.Equal(before.body, after.body) {
		t.Errorf("after a correction it is another: %d", after.status)
	}
	state = f.state(visit.ID)
	if a := p.do("technician", "GET", drawn(kept[0].Fingerprint), ""); a.status != 422 ||
		!strings.Contains(string(a.body), "fingerprint") {
		t.Errorf("a record that is not what the fingerprint says: %d", a.status)
	}
}

// TestWhoCorrectedDoesNotApprove: a reviewer may correct, but then another person has to approve.
func TestWhoCorrectedDoesNotApprove(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit := f.wholeVisit("PI-1")
	f.approve(visit.ID)
	p.reopen("administrator", visit.ID, "x")
	runs, err := plant.Runs(p.store, visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	run := f.state(runs[0].ID)
	f.drafter.Author = id("reviewer")
	f.edit(
		run,
		set(
			"capture.c9",
			doc{
				"step": "s1.up.1", "of": "indicated", "value": "5.0", "unit": "bar", "at": "x",
				"supersedes": "c1", "reason": "y",
			},
		),
	)
	f.renew(run.ID)
	f.drafter.Author = id("technician")
	f.sign(f.state(visit.ID))
	body := js(doc{"covers": f.covers(visit.ID)})
	p.refused("own", 409, "reviewer", "/api/office/visits/"+visit.ID+"/approve", body)
	if a := p.do("administrator", "POST", "/api/office/visits/"+visit.ID+"/approve", body); a.status != 200 {
		t.Errorf("%d %s", a.status, a.body)
	}
}

// TestApprovedAgainWithoutACertificate: the method has no name at the second approval. The
// certificate issued later still names the one that it replaces.
func TestApprovedAgainWithoutACertificate(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	visit := f.wholeVisit("PI-1")
	first := f.approve(visit.ID)
	p.reopen("reviewer", visit.ID, "no method was named")
	f.edit(f.state(visit.ID), nameless)
	f.sign(f.state(visit.ID))
	if c := f.approve(visit.ID); c.Without == "" {
		t.Fatalf("%+v", c)
	}
	if got := p.look(visit.ID).Certificates; len(got) != 1 || got[0].InForce {
		t.Errorf("the earlier one is not that of the visit as it is now: %+v", got)
	}
	p.reopen("reviewer", visit.ID, "nor now")
	f.edit(f.state(visit.ID), set("method", twoPoints))
	f.sign(f.state(visit.ID))
	c := f.approve(visit.ID)
	got := p.look(visit.ID).Certificates
	if len(got) != 2 || got[1].Number != c.Number || got[1].Replaces != first.Number ||
		got[1].Why != "no method was named; nor now" || !strings.Contains(got[1].Different, "the method") {
		t.Errorf("%+v", got)
	}
}

// TestAReasonForTheMethodThatCameLater checks that a reason given after the approval is among what
// differs from the certificate before.
func TestAReasonForTheMethodThatCameLater(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	p.do("administrator", "PUT", "/api/office/letterhead", head)
	visit := f.wholeVisit("PI-1")
	f.approve(visit.ID)
	p.reopen("reviewer", visit.ID, "it was not said why")
	f.edit(f.state(visit.ID), set("method", because("two points were asked for")))
	f.sign(f.state(visit.ID))
	f.approve(visit.ID)
	got := p.look(visit.ID).Certificates
	if len(got) != 2 || !strings.Contains(got[1].Different, "the method (Reason for this method") ||
		!strings.Contains(got[1].Different, "two points were asked for") {
		t.Errorf("%+v", got)
	}
}

// TestASafetyFunctionIsFoundOnce checks that a visit whose plan says as_found_once can close only
// one as-found run, whatever a phone sends.
func TestASafetyFunctionIsFoundOnce(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	plan := set("plan", doc{"steps": []doc{}, "as_found_once": true})
	begin := func(visit merge.State, label string) (change.Change, merge.State) {
		t.Helper()
		c, s, err := f.drafter.New("run", "", visit.ID, p.now, set("label", label), plan)
		if err != nil {
			t.Fatal(err)
		}
		return c, s
	}
	end := func(run merge.State, stopped string) change.Change {
		t.Helper()
		closed := doc{"at": plant.Stamp(p.now)}
		if stopped != "" {
			closed["stopped"] = stopped
		}
		c, _, err := f.drafter.Edit(run, p.now, set("finding", finding("pass")), set("closed", closed))
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	took := func(name, want string, c change.Change) {
		t.Helper()
		if why := f.give(c, nil); (why == "") != (want == "") || !strings.Contains(why, want) {
			t.Errorf("%s: %q", name, why)
		}
	}
	const once = "safety function be found once only"
	visit := f.make("visit", "", set("item", item("PS-1")), set("person", id("technician")))
	a, first := begin(visit, "as found")
	b, beside := begin(visit, "as found") // by another phone, which did not know of the first
	took("the first", "", a)
	took("one begun beside it", "", b)
	closing := end(first, "")
	took("the first is closed", "", closing)
	took("the same sent again", "", closing)
	took("the one beside it is closed", once, end(beside, ""))
	took("it is ended early", "", end(beside, "found already"))
	for _, label := range []string{"as found", "repeat"} {
		c, s := begin(visit, label)
		took("a further "+label, once, c)
		took("what belongs to it", once, end(s, ""))
	}
	c, left := begin(visit, "as left")
	took("as left", "", c)
	took("as left is closed", "", end(left, ""))
	other := f.make("visit", "", set("item", item("PS-1")), set("person", id("technician")))
	c, s := begin(other, "as found")
	took("another visit", "", c)
	took("another visit's is closed", "", end(s, ""))
	runs, err := plant.Runs(p.store, visit.ID)
	if err != nil || len(runs) != 3 {
		t.Errorf("%d runs, %v", len(runs), err)
	}

	// Both runs in one push.
	whole := f.make("visit", "", set("item", item("PS-2")), set("person", id("technician")))
	a, first = begin(whole, "as found")
	aEnd := end(first, "")
	b, second := begin(whole, "as found")
	answer := p.do("technician", "POST", "/api/sync", push(a, aEnd, b, end(second, "")))
	var r struct {
		Acknowledged []string
		Quarantined  []struct{ Reason string }
	}
	if err := json.Unmarshal(answer.body, &r); err != nil || len(r.Acknowledged) != 2 || len(r.Quarantined) != 2 ||
		!strings.Contains(r.Quarantined[0].Reason, once) {
		t.Errorf("%s %v", answer.body, err)
	}
	// A gauge's run may be repeated any number of times.
	gauge := f.make("visit", "", set("item", item("PI-3")), set("person", id("technician")))
	for range 2 {
		c, s, err := f.drafter.New("run", "", gauge.ID, p.now, set("label", "as found"), set("plan", doc{"steps": []doc{}}))
		if err != nil {
			t.Fatal(err)
		}
		took("a gauge", "", c)
		took("a gauge is closed", "", end(s, ""))
	}
}

// printed returns the text of a PDF.
func printed(t *testing.T, pdf []byte) string {
	t.Helper()
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftotext (Debian package poppler-utils): %v", err)
	}
	return string(out)
}
