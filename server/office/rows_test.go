package office_test

import (
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/server/demo"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
)

// lists returns the queue and the pages of some days of an office, as they are sent.
func (p *place) lists(o *office.Office, days []string) string {
	p.t.Helper()
	q, err := o.Queue(office.Ask{})
	if err != nil {
		p.t.Fatal(err)
	}
	all := []any{q}
	for _, day := range days {
		d, err := o.Day(day)
		if err != nil {
			p.t.Fatal(err)
		}
		all = append(all, d)
	}
	b, err := json.Marshal(all)
	if err != nil {
		p.t.Fatal(err)
	}
	return string(b)
}

// state returns a record.
func (p *place) state(id string) merge.State {
	p.t.Helper()
	s, ok, err := p.store.Record(id)
	if err != nil || !ok {
		p.t.Fatal(ok, err)
	}
	return s
}

// writes lets the phone write fields of a record.
func (p *place) writes(id string, sets ...plant.Set) {
	p.t.Helper()
	count, err := plant.HighestCount(p.store)
	if err != nil {
		p.t.Fatal(err)
	}
	p.phone.Count = max(p.phone.Count, count)
	p.keep(p.phone.Edit(p.state(id), p.now, sets...))
}

// runOf returns the id of the first run of a visit.
func (p *place) runOf(visit string) string {
	p.t.Helper()
	runs, err := plant.Runs(p.store, visit)
	if err != nil || len(runs) == 0 {
		p.t.Fatal(runs, err)
	}
	return runs[0].ID
}

// approvals checks that the approval that is read alone is the one of the whole visit.
func (p *place) approvals() {
	p.t.Helper()
	states, err := p.store.ByKind("visit", "", 0)
	if err != nil {
		p.t.Fatal(err)
	}
	for _, s := range states {
		v, err := plant.ReadVisit(s)
		if err != nil {
			p.t.Fatal(err)
		}
		if a, err := plant.ReadApproval(s); err != nil || !reflect.DeepEqual(a, v.Approval) {
			p.t.Fatalf("visit %s, %s: %+v, want %+v, %v", s.ID, v.Status, a, v.Approval, err)
		}
	}
}

// TestRowsFollowTheJournal checks, on the demo plant, that the queue and the day of an office that
// has been running are the same bytes as those of one that has just read every visit, after each
// kind of change that a row depends on.
func TestRowsFollowTheJournal(t *testing.T) {
	p := newPlace(t)
	ctx := t.Context()
	_, err := demo.Seed(ctx, p.store, demo.Options{
		Seed: 1, Today: p.now, Instruments: 12, Years: 2, Base: "https://office.example",
	})
	if err != nil {
		t.Fatal(err)
	}
	fresh := func() *office.Office { return office.New(p.store, p.keeper, func() time.Time { return p.now }) }
	p.office = fresh()
	if p.phone.Count, err = plant.HighestCount(p.store); err != nil {
		t.Fatal(err)
	}
	visits, err := plant.All(p.store, "visit", plant.ReadVisit)
	if err != nil {
		t.Fatal(err)
	}
	var days []string
	for _, v := range visits {
		days = append(days, v.Started[:10])
	}
	slices.Sort(days)
	days = append(slices.Compact(days), "2026-03-04", "2026-03-05")
	days = days[max(0, len(days)-40):]
	if err := p.office.Warm(); err != nil {
		t.Fatal(err)
	}

	approve := func(visit string) {
		t.Helper()
		if _, err := p.office.Approve(ctx, reviewer, visit, p.covers(visit), "", "none", office.Sheet{}); err != nil {
			t.Fatal(err)
		}
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	var pass, fail, other, third, safe, again, keyed string
	begun := plant.Stamp(p.now)
	seed := make([]byte, ed25519.SeedSize)
	private := ed25519.NewKeyFromSeed(seed)
	public := statement.PublicOf(private)
	key := statement.RecordOf(public.Thumbprint())
	signed := func(by, field, record string, value doc) doc {
		t.Helper()
		b, err := plant.Canonical(value)
		must(err)
		of, err := statement.Of(by, field, record, b)
		must(err)
		value = maps.Clone(value)
		value["proof"] = statement.Sign(private, of.Bytes())
		return value
	}
	before := ""
	for _, step := range []struct {
		what        string
		more, fewer string // of which texts the lists have more and fewer than before
		do          func()
	}{
		{"the plant as it is", "", "", func() {}},
		{"visits arrive", "PI-1", "", func() {
			pass, fail = p.visit("PI-1"), p.visitReading("PI-2", "5.4")
			other, third = p.visit("PI-3"), p.visit("PI-4")
		}},
		{"a remark after the signature", "after_signature", "", func() { p.writes(pass, set("remark.r", "the valve was tight")) }},
		{"a reading after the signature", "runs", "", func() {
			p.writes(p.runOf(other), set("capture.c9", doc{"step": "s1.up.1", "of": "indicated", "value": "5.2",
				"unit": "bar", "at": begun, "supersedes": "c1", "reason": "misread"}))
		}},
		{"a finding", "undecided", "", func() {
			run := p.state(p.runOf(other))
			f, _ := run.Value("finding")
			p.writes(run.ID, set("finding", json.RawMessage(
				strings.Replace(string(f), `"verdict":"pass"`, `"verdict":"undecided"`, 1))))
		}},
		{"two phones that did not know of each other", "contested", "", func() {
			s := p.state(other)
			for _, note := range []string{"a turn", "two turns"} {
				p.keep(p.phone.Edit(s, p.now, set("adjusted", doc{"done": true, "note": note})))
			}
		}},
		{"an approval", "approved", "signed", func() {
			approve(third)
		}},
		{"a remark after the approval", "after_approval", "", func() { p.writes(third, set("remark.q", "later")) }},
		{"a reopening", "reopened", "", func() { must(p.office.Reopen(ctx, reviewer, third, "wrong serial", "")) }},
		{"a return", "returned", "", func() { must(p.office.SendBack(ctx, reviewer, fail, "which valve?", "")) }},
		{"an erasure", "", "", func() {
			p.writes(fail, set("remark.own", "said the one with the beard"))
			must(p.office.Erase(ctx, reviewer, "visit", fail, []string{"remark.own", "signature"}, "asked for"))
		}},
		{"the person's name", "Technician the First", "", func() {
			state := merge.State{ID: technician, Kind: "person"}
			p.keep(p.phone.Edit(state, p.now, set("name", "Technician the First")))
		}},
		{"an authorisation of somebody for work of another kind", "no_competence", "", func() {
			must(p.office.Authorise(ctx, reviewer, technician, "", office.Authorisation{
				Kind: "leak", May: []string{plant.MayDo}, From: "2020-01-01", Evidence: "file 7",
			}))
		}},
		{"an authorisation", "", "no_competence", func() {
			must(p.office.Authorise(ctx, reviewer, technician, "", office.Authorisation{
				May: []string{plant.MayDo}, From: "2020-01-01", Evidence: "file 8",
			}))
		}},
		{"a safety function that failed", "safety_failed", "", func() {
			safe = p.visitOf("g4ge", "PS-1", "5.4")
			p.writes(safe, set("instrument", "g4ge"))
			p.writes(p.runOf(safe), set("plan", doc{"steps": []doc{}, "as_found_once": true}))
		}},
		{"the same tested as found again", "PS-1", "", func() {
			p.now = p.now.Add(time.Hour)
			again = p.visitOf("g4ge", "PS-1", "5.1")
			p.writes(again, set("instrument", "g4ge"))
			p.writes(p.runOf(again), set("plan", doc{"steps": []doc{}, "as_found_once": true}))
		}},
		{"the failure before is open", "found_again", "", func() {
			p.writes(safe, set("summary", doc{"after": doc{"open": true, "safety": true, "way": "taken_out"}}))
		}},
		{"the failure before is closed", "", "found_again", func() {
			p.writes(safe, set("summary", doc{"after": doc{"open": false, "safety": true, "way": "replaced"}}))
		}},
		{"a visit of tomorrow", "ahead", "", func() {
			p.now = p.now.Add(24 * time.Hour)
			p.visit("PI-5")
			p.now = p.now.Add(-24 * time.Hour)
		}},
		{"tomorrow", "", "ahead", func() { p.now = p.now.Add(24 * time.Hour) }},
		{"a signature by a key that is not here", "key", "", func() {
			keyed = p.visit("PI-6")
			covers := p.covers(keyed)
			kids, err := p.store.Children(keyed)
			must(err)
			content, err := plant.ContentOf(p.state(keyed), kids, covers)
			must(err)
			p.writes(keyed, set("signature", signed(technician, "signature", keyed, doc{"name": "T", "strokes": []any{},
				"at": plant.Stamp(p.now), "covers": covers, "of": plant.SignedOf, "content": content})))
		}},
		{"its key", "", "key", func() {
			value := signed(technician, "key", key, doc{
				"public": public, "of": "person", "person": technician, "made": plant.Stamp(p.now),
			})
			p.keep(p.phone.Edit(merge.State{ID: key, Kind: "key"}, p.now, set("public", value)))
		}},
	} {
		step.do()
		p.approvals()
		whole, kept := p.lists(fresh(), days), p.lists(p.office, days)
		if kept != whole {
			t.Fatalf("after %s:\n%s\nwant\n%s", step.what, kept, whole)
		}
		if word := `"` + step.more + `"`; step.more != "" && strings.Count(kept, word) <= strings.Count(before, word) {
			t.Errorf("after %s: no more %s than before", step.what, word)
		}
		if word := `"` + step.fewer + `"`; step.fewer != "" && strings.Count(kept, word) >= strings.Count(before, word) {
			t.Errorf("after %s: no fewer %s than before", step.what, word)
		}
		before = kept
	}
}

// TestRowsMadeMeanwhile checks that a row is not kept if its visit changed while it was made.
func TestRowsMadeMeanwhile(t *testing.T) {
	p := newPlace(t)
	var visits []string
	for _, tag := range []string{"PI-1", "PI-2", "PI-3", "PI-4"} {
		visits = append(visits, p.visit(tag))
	}
	days, stop := []string{"2026-03-04"}, make(chan struct{})
	var readers sync.WaitGroup
	for range 2 {
		readers.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
					if _, err := p.office.Queue(office.Ask{}); err != nil {
						t.Error(err)
						return
					}
				}
			}
		})
	}
	for i := range 60 {
		for _, visit := range visits {
			p.writes(visit, set("item", doc{"tag": fmt.Sprintf("PI-%d", i)}))
		}
		fresh := office.New(p.store, p.keeper, func() time.Time { return p.now })
		if kept, whole := p.lists(p.office, days), p.lists(fresh, days); kept != whole {
			t.Errorf("after %d changes:\n%s\nwant\n%s", i, kept, whole)
			break
		}
	}
	close(stop)
	readers.Wait()
}
