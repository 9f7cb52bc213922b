package api_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"gaugewright/server/plant"
)

// TestWarningsReachTheReviewer checks that the office's list names a result with warnings, so that
// it never says "nothing stands out" of it.
func TestWarningsReachTheReviewer(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	attention := func(warnings ...doc) []string {
		t.Helper()
		v := f.make(
			"visit", "", set("item", item("PI-1")), set("person", id("technician")),
			set("started", plant.Stamp(f.now)),
		)
		run := f.make("run", v.ID, set("label", "as found"), set("plan", doc{"steps": []doc{}}))
		f.edit(
			run, set("finding", doc{"verdict": "pass", "complete": true, "warnings": warnings}),
			set("closed", doc{"at": plant.Stamp(f.now)}),
		)
		var seen struct{ Attention []string }
		a := p.do("reviewer", "GET", "/api/office/visits/"+v.ID, "")
		if err := json.Unmarshal(a.body, &seen); err != nil || a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return seen.Attention
	}
	if list := attention(); slices.Contains(list, "warnings") {
		t.Errorf("a result without a warning: %v", list)
	}
	if list := attention(doc{"code": "no_zero", "field": "readings", "message": "the zero deviation is not in the uncertainty"}); !slices.Contains(list, "warnings") {
		t.Errorf("a result with a warning: %v", list)
	}
}

// TestAClockAheadAndDeparturesAreSeen: a visit from a phone whose clock was a day ahead would carry
// that date on its certificate, and a reading that was kept early has a reason. The office sees
// both.
func TestAClockAheadAndDeparturesAreSeen(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	see := func(hours int, reason string) []string {
		t.Helper()
		at := plant.Stamp(f.now.Add(time.Duration(hours) * time.Hour))
		v := f.make("visit", "", set("item", item("PI-1")), set("person", id("technician")), set("started", at))
		f.make("run", v.ID, set("label", "as found"), set("plan", doc{"steps": []doc{}}),
			set(
				"capture.c1",
				doc{"step": "s1.up.1", "of": "indicated", "value": "5.1", "unit": "bar", "at": at, "reason": reason},
			))
		var seen struct{ Attention []string }
		a := p.do("reviewer", "GET", "/api/office/visits/"+v.ID, "")
		if err := json.Unmarshal(a.body, &seen); err != nil || a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return seen.Attention
	}
	if list := see(0, ""); slices.Contains(list, "ahead") || slices.Contains(list, "departures") {
		t.Errorf("an ordinary visit: %v", list)
	}
	if list := see(24, ""); !slices.Contains(list, "ahead") {
		t.Errorf("a visit of tomorrow: %v", list)
	}
	if list := see(0, "no time"); !slices.Contains(list, "departures") {
		t.Errorf("a reading with a reason: %v", list)
	}
}
