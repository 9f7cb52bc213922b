package api_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/plant"
)

// TestFailuresComeFirst checks that the office's day starts with safety, whenever a visit began.
func TestFailuresComeFirst(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	f.visit("PI-1", "pass", true)
	f.visit("PI-2", "fail", true) // no disposition: it is listed in its usual place
	f.visit(
		"PI-3", "pass", true,
		set("bypass.a", doc{"name": "jumper 14", "state": "left", "reason": "the loop is out of use"}),
	)
	f.visit(
		"PI-4", "fail", true,
		set(
			"disposition",
			doc{
				"way": "left_in_service", "by": "shift lead", "until": "2026-04-01",
				"reason": "a second one stands beside it",
			},
		),
	)
	var tags []string
	for _, v := range p.day(t, "2026-03-04").Visits {
		tags = append(tags, v.Tag)
	}
	if got := strings.Join(tags, " "); got != "PI-3 PI-4 PI-1 PI-2" {
		t.Error(got)
	}
}

// TestADispositionIsWhole checks that a disposition without a field that it needs is quarantined,
// naming the field.
func TestADispositionIsWhole(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "fail", false)
	for _, c := range []struct {
		set  plant.Set
		want string
	}{
		{set("disposition", doc{"way": "replaced", "serial": ""}), "said.serial"},
		{set("disposition", doc{"way": "left_in_service", "until": "2026-04-01", "reason": "x"}), "said.by"},
		{set("disposition", doc{"way": "taken_out", "reason": "x"}), "said.code"},
		{set("disposition", doc{"way": "scrapped"}), "said.way"},
		{set("bypass.a", doc{"name": "jumper 14", "state": "left"}), "bypasses[0].reason"},
		{set("bypass.a", doc{"name": "jumper 14", "state": "set"}), ""},
		{set("disposition", doc{"way": "taken_out", "code": "sticks", "reason": "x", "at": "x"}), ""},
		{set("disposition", doc{}), ""},
	} {
		why := p.sends("technician", f.drafts(f.state(visit.ID), c.set))[0]
		if (why == "") != (c.want == "") || !strings.Contains(why, c.want) {
			t.Errorf("%v: %q, want %q", c.set.Value, why, c.want)
		}
	}
}

// TestASignatureCoversWhatFollows checks that the signature covers what the visit says about a
// failure, and that a later change of it is named.
func TestASignatureCoversWhatFollows(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	visit, _ := f.visit("PI-1", "fail", true, set("disposition", doc{"way": "replaced", "serial": "Q-2"}))
	if seen := p.look(visit.ID); slices.Contains(seen.Attention, "after_signature") {
		t.Fatal(seen.Attention)
	}
	f.edit(f.state(visit.ID), set("disposition", doc{"way": "replaced", "serial": "Q-3"}))
	if seen := p.look(visit.ID); !slices.Contains(seen.Attention, "after_signature") ||
		!slices.Contains(seen.Changed, "disposition") {
		t.Errorf("%v %v", seen.Attention, seen.Changed)
	}
}

// TestASafetyFunctionFoundAgain checks that a failed safety function, repaired and tested as left,
// passes, and that one tested as found again goes to the top of the office's list.
func TestASafetyFunctionFoundAgain(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	failed := doc{
		"as_found": doc{"verdict": "fail", "worst_fraction": nil, "points": []doc{}},
		"after":    doc{"open": true, "safety": true, "way": "left_in_service"},
	}
	past := func(instrument string, summary doc) {
		t.Helper()
		f.sign(
			f.make(
				"visit", instrument, set("instrument", instrument), set("item", item("PS-1")),
				set("person", id("technician")), set("started", plant.Stamp(p.now.Add(-time.Hour))),
				set("summary", summary),
			),
		)
	}
	again := func(instrument, label string) bool {
		t.Helper()
		v := f.make(
			"visit", instrument, set("instrument", instrument), set("item", item("PS-1")),
			set("person", id("technician")), set("started", plant.Stamp(p.now)),
		)
		f.make("run", v.ID, set("label", label), set("plan", doc{"steps": []doc{}, "as_found_once": true}))
		seen := p.look(v.ID)
		return len(seen.Attention) > 0 && seen.Attention[0] == "found_again"
	}
	first := f.make("instrument", "", set("tag", "PS-1"))
	past(first.ID, failed)
	if !again(first.ID, "as found") {
		t.Error("nothing says that the failure was still open")
	}
	if again(first.ID, "as left") {
		t.Error("tested as left, it is still reported")
	}
	second := f.make("instrument", "", set("tag", "PS-2"))
	past(second.ID, doc{"as_found": failed["as_found"], "after": doc{"open": false, "safety": true, "way": "replaced"}})
	if again(second.ID, "as found") {
		t.Error("another one hangs there, and is found for the first time")
	}
}
