package office_test

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

type doc = map[string]any

// place is an office with a technician's phone that writes into the same store.
type place struct {
	t      testing.TB
	store  *store.Store
	keeper *auth.Keeper
	office *office.Office
	now    time.Time
	phone  plant.Drafter
}

const technician, reviewer = "techn1c1an", "rev1ewer"

func newPlace(t testing.TB) *place {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	p := &place{t: t, store: s, now: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)}
	clock := func() time.Time { return p.now }
	if p.keeper, err = auth.New(s, clock); err != nil {
		t.Fatal(err)
	}
	for id, role := range map[string]auth.Role{technician: auth.Technician, reviewer: auth.Reviewer} {
		if _, err := p.keeper.Add(id, id, role, "a long enough secret"); err != nil {
			t.Fatal(err)
		}
	}
	p.office = office.New(s, p.keeper, clock)
	p.phone = plant.Drafter{Device: "ph0ne", Author: technician, Random: rand.NewChaCha8([32]byte{1})}
	return p
}

func (p *place) keep(c change.Change, s merge.State, err error) merge.State {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
	r, err := p.store.Add(p.t.Context(), []change.Change{c})
	if err != nil || len(r.Refused) > 0 {
		p.t.Fatal(err, r.Refused)
	}
	return s
}

func set(field string, value any) plant.Set { return plant.Set{Field: field, Value: value} }

// visit makes a signed visit with one run and everything a certificate states.
func (p *place) visit(tag string) string { return p.visitReading(tag, "5.1") }

// visitReading is visit with the reading at 5 bar.
func (p *place) visitReading(tag, shown string) string { return p.visitOf("", tag, shown) }

// visitOf is visitReading for an instrument by its id.
func (p *place) visitOf(instrument, tag, shown string) string {
	p.t.Helper()
	at := plant.Stamp(p.now)
	definition := doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up",
		"cycles": 1, "exercise": 0, "tap": false, "hold_s": 0, "hold_top_s": 0, "way": "applied-set",
		"decision": doc{"rule": "simple"}}
	visit := p.keep(p.phone.New("visit", "", instrument, p.now, set("person", technician), set("started", at),
		set("item", doc{"tag": tag, "serial": "S-" + tag, "description": "filter outlet",
			"range":      doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"},
			"resolution": "0.1", "limit": doc{"rule": "en837", "class": "1.6"}}),
		set("standard", doc{"id": "std1", "range": doc{},
			"snapshot": doc{"name": "master 1", "due": "2026-12-31"}}),
		set("method", doc{"id": "m", "version": 1, "name": "Yearly check", "definition": definition}),
		set("surroundings", doc{"temperature_c": "21"}), set("identity", doc{"ok": true, "note": ""}),
		set("condition", doc{"ok": true, "note": ""}), set("adjusted", doc{"done": false, "note": ""})))
	read := func(step, value string) doc {
		return doc{"step": step, "of": "indicated", "value": value, "unit": "bar", "at": at}
	}
	run := p.keep(p.phone.New("run", "", visit.ID, p.now, set("label", "as found"),
		set("plan", doc{"steps": []doc{}}), set("capture.c0", read("s1.up.0", "0")),
		set("capture.c1", read("s1.up.1", shown))))
	v, err := plant.ReadVisit(visit)
	if err != nil {
		p.t.Fatal(err)
	}
	r, err := plant.ReadRun(run)
	if err != nil {
		p.t.Fatal(err)
	}
	sheet, err := v.Sheet(&r, true)
	if err != nil {
		p.t.Fatal(err)
	}
	p.keep(p.phone.Edit(run, p.now, set("finding", json.RawMessage(calc.Call("evaluate", sheet))),
		set("closed", doc{"at": at})))
	p.keep(p.phone.Edit(visit, p.now, set("signature", doc{"name": "T", "strokes": []any{}, "at": at,
		"covers": p.covers(visit.ID), "of": plant.SignedOf})))
	return visit.ID
}

func (p *place) covers(visit string) []string {
	p.t.Helper()
	runs, err := plant.Runs(p.store, visit)
	if err != nil {
		p.t.Fatal(err)
	}
	v, err := plant.LoadVisit(p.store, visit)
	if err != nil {
		p.t.Fatal(err)
	}
	return plant.Covered(&v, runs)
}

// TestDecisionsWithoutHTTP takes a visit through return, approval, reopening and a second approval
// with function calls only.
func TestDecisionsWithoutHTTP(t *testing.T) {
	const base = "https://office.example"
	p := newPlace(t)
	ctx := t.Context()
	if _, err := p.office.SetLetterhead(office.Letterhead{Name: "Works laboratory",
		Address: []string{"1 Dock Road"}, Customer: []string{"Works North"}}); err != nil {
		t.Fatal(err)
	}
	is := func(what string, err, want error) {
		t.Helper()
		if !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", what, err, want)
		}
	}
	visit := p.visit("PI-1")
	_, err := p.office.Approve(ctx, technician, visit, p.covers(visit), "", "", office.Sheet{Base: base})
	is("approved by whoever made it", err, office.ErrOwn)
	_, err = p.office.Approve(ctx, reviewer, visit, nil, "", "", office.Sheet{Base: base})
	is("approved without what was shown", err, office.ErrChanged)
	_, err = p.office.Issue(ctx, reviewer, visit, office.Sheet{Base: base})
	is("issued before the approval", err, office.ErrNotApproved)
	is("opened again before the approval", p.office.Reopen(ctx, reviewer, visit, "a slip", ""), office.ErrNotApproved)
	is("returned without a remark", p.office.SendBack(ctx, reviewer, visit, " ", ""), office.ErrRemark)
	_, err = p.office.Approve(ctx, reviewer, "n0where", nil, "", "", office.Sheet{Base: base})
	is("approved what is not here", err, plant.ErrNotFound)

	out, err := p.office.Approve(ctx, reviewer, visit, p.covers(visit), "", "", office.Sheet{Base: base})
	if err != nil || out.Number != "2026-00001" || out.Without != "" {
		t.Fatalf("%+v %v", out, err)
	}
	_, err = p.office.Approve(ctx, reviewer, visit, p.covers(visit), "", "", office.Sheet{Base: base})
	is("approved twice", err, office.ErrApproved)
	_, err = p.office.Issue(ctx, reviewer, visit, office.Sheet{Base: base})
	is("issued twice", err, office.ErrIssued)
	is("returned after the approval", p.office.SendBack(ctx, reviewer, visit, "again", ""), office.ErrApproved)
	is("opened again without a reason", p.office.Reopen(ctx, reviewer, visit, "", ""), office.ErrReason)
	if err := p.office.Reopen(ctx, reviewer, visit, "wrong serial number", ""); err != nil {
		t.Fatal(err)
	}
	view, err := p.office.View(ctx, reviewer, visit)
	if err != nil || view.Status != plant.Reopened || len(view.Certificates) != 1 {
		t.Errorf("%s %+v %v", view.Status, view.Certificates, err)
	}

	if len(view.Together) != 0 {
		t.Errorf("it stood alone, and has %+v beside it", view.Together)
	}

	// A newly started office continues the numbers.
	p.office = office.New(p.store, p.keeper, func() time.Time { return p.now })
	if p.phone.Count, err = plant.HighestCount(p.store); err != nil {
		t.Fatal(err)
	}
	other := p.visit("PI-2")
	if out, err = p.office.Approve(ctx, reviewer, other, p.covers(other), "", "", office.Sheet{Base: base}); err != nil ||
		out.Number != "2026-00002" {
		t.Errorf("%+v %v", out, err)
	}
	day, err := p.office.Day("2026-03-04")
	if err != nil || len(day.Visits) != 2 {
		t.Errorf("%d visits, %v", len(day.Visits), err)
	}
	_, err = p.office.Day("2026-02-30")
	is("a day that is none", err, office.ErrDate)
}
