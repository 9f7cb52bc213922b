package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
)

// with is a change of an instrument's note by a person on a device.
func with(device, who, ident string, seq uint64) change.Change {
	return change.Change{
		ID: ident, Device: device, Seq: seq, Author: id(who), Wall: "2026-03-04T05:06:07.089Z",
		Stamp: clock.Next(seq, 0, device), Record: "r" + ident, Kind: "instrument",
		Set: []change.Setting{{Field: "note." + ident, Value: []byte(`{"text":"seen"}`), Sees: []string{}}},
	}
}

// offers pushes changes from a device, and returns whether the device has to take another id and
// what was quarantined.
func (p *testPlant) offers(token, device string, list ...change.Change) (twin bool, aside string) {
	p.t.Helper()
	body := strings.Replace(push(list...), `"device":"d1"`, `"device":"`+device+`"`, 1)
	a := p.do(token, "POST", "/api/sync", body)
	var r struct {
		Twin        bool
		Quarantined []struct{ ID, Reason string }
	}
	if err := json.Unmarshal(a.body, &r); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return r.Twin, fmt.Sprint(r.Quarantined)
}

// TestADeviceIsItsPeoples checks that nobody can use the id of a device that belongs to others, who
// can work on undisturbed. People who share a browser share the device, whoever came first. An
// account takes its device along to another browser.
func TestADeviceIsItsPeoples(t *testing.T) {
	p := newPlant(t)
	var shared, stranger []*http.Cookie
	first, _ := p.login("technician", &shared)
	second, _ := p.login("reviewer", &shared)
	other, _ := p.login("administrator", &stranger)
	want := func(what string, twin bool, aside string, expectTwin, expectAside bool) {
		t.Helper()
		if twin != expectTwin || (aside != "[]") != expectAside {
			t.Errorf("%s: twin %v, aside %s", what, twin, aside)
		}
	}
	twin, aside := p.offers(first, "dph", with("dph", "technician", "a1", 1))
	want("the first of the phone", twin, aside, false, false)
	twin, aside = p.offers(other, "dph", with("dph", "administrator", "b1", 2))
	want("a stranger", twin, aside, true, true)
	if !strings.Contains(aside, "device: is another person's") {
		t.Error(aside)
	}
	twin, aside = p.offers(other, "dther", with("dph", "administrator", "b2", 3))
	want("a stranger by another device", twin, aside, false, true)
	twin, aside = p.offers(first, "dph", with("dph", "technician", "a2", 2))
	want("the first goes on", twin, aside, false, false)
	twin, aside = p.offers(second, "dph", with("dph", "reviewer", "c1", 3))
	want("the second of the phone", twin, aside, false, false)
	var tablet []*http.Cookie
	again, _ := p.login("technician", &tablet)
	twin, aside = p.offers(again, "dph", with("dph", "technician", "a3", 4))
	want("the first with a browser that forgot", twin, aside, false, false)

	p.handler = p.open()
	twin, aside = p.offers(other, "dph")
	want("a stranger after a restart", twin, aside, true, false)
	twin, aside = p.offers(second, "dph", with("dph", "reviewer", "c2", 5))
	want("the second after a restart", twin, aside, false, false)

	// Logging in again does not admit what was refused as another person's device.
	p.login("administrator", &stranger)
	var held struct {
		Quarantined []struct{ Change, Reason string }
	}
	p.ask("reviewer", "/api/office/quarantine", &held)
	if n := strings.Count(fmt.Sprint(held), "is another person's"); n != 2 {
		t.Errorf("%d are held: %+v", n, held)
	}
}

// TestGapsAndRepeatsAreShown checks that the office sees which numbers of a device did not arrive,
// or arrived twice. What was quarantined is no gap, and a late arrival closes one.
func TestGapsAndRepeatsAreShown(t *testing.T) {
	p := newPlant(t)
	warnings := func() []string {
		t.Helper()
		var r devicesReply
		p.ask("reviewer", "/api/office/devices", &r)
		for _, d := range r.Devices {
			if d.ID == "dph" {
				return d.Warnings
			}
		}
		t.Fatalf("%+v", r)
		return nil
	}
	step := func(what string, want []string, list ...change.Change) {
		t.Helper()
		p.offers("technician", "dph", list...)
		if got := warnings(); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	step("in order", []string{}, with("dph", "technician", "a1", 1), with("dph", "technician", "a2", 2))
	step("a gap", []string{"gap"}, with("dph", "technician", "a5", 5))
	aside := with("dph", "technician", "a3", 3)
	aside.Kind = "site"
	step("one of them was set aside", []string{"gap"}, aside)
	step("the other one came", []string{}, with("dph", "technician", "a4", 4))
	step("another with the same number", []string{"repeat"}, with("dph", "technician", "b4", 4))
}

// TestSeesWhatCanBeSeen checks that a change that claims to have seen what it cannot have is
// quarantined, and that a change which others claim to have seen in advance is not lost by that.
func TestSeesWhatCanBeSeen(t *testing.T) {
	p := newPlant(t)
	on := func(record, ident string, count uint64, sees ...string) change.Change {
		c := with("d1", "technician", ident, count)
		c.Record, c.Stamp = record, clock.Next(count-1, 0, "d1")
		c.Set[0].Field, c.Set[0].Sees = "note.n", append([]string{}, sees...)
		return c
	}
	for _, x := range []struct {
		what   string
		c      change.Change
		reason string
	}{
		{"the first", on("r1", "a1", 5), ""},
		{"of another record", on("r2", "b1", 1), ""},
		{"sees itself", on("r1", "a2", 6, "a2"), "cannot have seen"},
		{"sees one of another record", on("r1", "a3", 6, "b1"), "cannot have seen"},
		{"sees one that counts as far", on("r1", "a4", 5, "a1"), "cannot have seen"},
		{"sees one that counts beyond", on("r1", "a5", 4, "a1"), "cannot have seen"},
		{"sees one that is not here", on("r1", "a6", 9, "a7"), ""},
		{"which comes now", on("r1", "a7", 8), ""},
		{"sees one to come", on("r1", "a8", 10, "a9"), ""},
		{"which nobody can have seen", on("r1", "a9", 11), "cannot have"},
		{"of another field record", on("r3", "c1", 5), ""},
		{"sees another one to come", on("r3", "c2", 6, "c1", "c9"), ""},
		{"sees that and counts far on", on("r3", "c3", 40, "c2"), ""},
		{"what the one behind a later value cannot have seen", on("r3", "c9", 20), "cannot have"},
	} {
		if got := p.pushed("technician", x.c); (got == "") != (x.reason == "") || !strings.Contains(got, x.reason) {
			t.Errorf("%s: %q", x.what, got)
		}
	}
	state, _, err := p.store.Record("r1")
	if err != nil {
		t.Fatal(err)
	}
	f, _ := state.Field("note.n")
	var heads []string
	for _, h := range f.Heads {
		heads = append(heads, h.Change)
	}
	slices.Sort(heads)
	if !slices.Equal(heads, []string{"a1", "a6", "a8"}) {
		t.Errorf("%v stand", heads)
	}
	if bytes.Contains([]byte(strings.Join(f.Replaced, " ")), []byte("b1")) {
		t.Errorf("%v are replaced", f.Replaced)
	}
}
