package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/server/plant"
)

type usesReply struct {
	Uses []struct {
		Visit, Run, Label, Tag, Started, Status, Verdict, As string
		Standard, Sheet                                      json.RawMessage
		Unread                                               string
	}
	After string
}

func (p *testPlant) uses(query string) (all usesReply) {
	p.t.Helper()
	for after := ""; ; after = all.After {
		a := p.do("reviewer", "GET", "/api/office/standards/"+query+"&after="+after, "")
		var one usesReply
		if err := json.Unmarshal(a.body, &one); err != nil || a.status != 200 {
			p.t.Fatal(a.status, string(a.body), err)
		}
		all.Uses, all.After = append(all.Uses, one.Uses...), one.After
		if one.After == "" {
			return all
		}
	}
}

// TestUsesOfAStandard lists the visits that used a standard since a date, each with a sheet that
// the calculation accepts, over several pages.
func TestUsesOfAStandard(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	standard := f.make("standard", "", set("name", "master 1"))
	kept := doc{
		"id": standard.ID, "range": doc{"low": "0", "high": "20", "unit": "bar", "absolute": "0.01"},
		"snapshot": doc{"name": "master 1", "due": "2026-12-31"},
	}
	method := set(
		"method",
		doc{"definition": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up"}},
	)
	var wanted []string
	for i := range 230 { // more than one page
		v, _ := f.visit(fmt.Sprintf("PI-%d", i), "pass", true, set("standard", kept), method)
		wanted = append(wanted, v.ID)
	}
	f.visit("PI-other", "pass", true, method)
	f.visit("PI-bad", "pass", true, set("standard", 7))
	f.visit("PI-old", "pass", true, set("standard", kept), method, set("started", "2025-01-01T08:00:00.000Z"))
	got := p.uses(standard.ID + "/uses?since=" + p.now.Format(time.DateOnly))
	var ids, unread []string
	for _, u := range got.Uses {
		if u.Unread != "" {
			unread = append(unread, u.Unread)
			continue
		}
		ids = append(ids, u.Visit)
	}
	slices.Sort(ids)
	slices.Sort(wanted)
	if !slices.Equal(ids, wanted) || len(unread) != 1 || !strings.Contains(unread[0], "standard") {
		t.Errorf("%d of %d visits, not read: %q", len(ids), len(wanted), unread)
	}
	if all := p.uses(standard.ID + "/uses?since="); len(all.Uses) != len(wanted)+2 {
		t.Errorf("without a date: %d", len(all.Uses))
	}
	one := got.Uses[0]
	if out := string(calc.Call("evaluate", one.Sheet)); !strings.Contains(out, `"readings":[{"step":"s1.up.1"`) ||
		!strings.Contains(out, `"expanded"`) {
		t.Errorf("the sheet is not calculated: %s from %s", out, one.Sheet)
	}
	if one.Label != "as found" || one.Verdict != "pass" || one.Status != "signed" ||
		!strings.Contains(string(one.Standard), `"snapshot"`) {
		t.Errorf("%+v", one)
	}
	for path, want := range map[string]int{"none/uses": 404, standard.ID + "/uses?since=soon": 400} {
		if a := p.do("reviewer", "GET", "/api/office/standards/"+path, ""); a.status != want {
			t.Errorf("%s: %d, want %d", path, a.status, want)
		}
	}
	for who, want := range map[string]int{"": 401, "technician": 403} {
		if a := p.do(who, "GET", "/api/office/standards/"+standard.ID+"/uses", ""); a.status != want {
			t.Errorf("%q: %d, want %d", who, a.status, want)
		}
	}
}

// TestUsesAsBarometer checks that a device used beside the standard, as a meter or a barometer, is
// found too, and that the answer gives its role and what the visit keeps of it.
func TestUsesAsBarometer(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	used := f.make("standard", "", set("name", "air 1"))
	kept := doc{
		"id": used.ID, "range": doc{"low": "0.8", "high": "1.2", "unit": "bar", "absolute": "0.0003"},
		"snapshot": doc{"name": "air 1", "due": "2026-12-31"},
	}
	method := set(
		"method",
		doc{"definition": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up"}},
	)
	want := map[string]string{}
	for _, role := range []string{"barometer", "meter"} {
		v, _ := f.visit("PA-"+role, "pass", true, set(role, kept), method)
		want[v.ID] = role
	}
	f.visit("PA-other", "pass", true, method)
	got := p.uses(used.ID + "/uses?since=" + p.now.Format(time.DateOnly))
	if len(got.Uses) != len(want) {
		t.Fatalf("%+v", got.Uses)
	}
	for _, u := range got.Uses {
		if u.As != want[u.Visit] || !strings.Contains(string(u.Standard), "air 1") ||
			!strings.Contains(string(u.Sheet), `"`+u.As+`":{`) {
			t.Errorf("%s: as %q, %s, %s", u.Visit, u.As, u.Standard, u.Sheet)
		}
	}
}

// TestUsesInTwoRoles checks that a device that measured the pressure with one range and the air
// with another is listed with the run once for each.
func TestUsesInTwoRoles(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	used := f.make("standard", "", set("name", "both 1"))
	kept := func(low, high string) doc {
		return doc{
			"id": used.ID, "range": doc{"low": low, "high": high, "unit": "bar", "absolute": "0.0003"},
			"snapshot": doc{"name": "both 1", "due": "2026-12-31"},
		}
	}
	method := set(
		"method",
		doc{"definition": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up"}},
	)
	f.visit(
		"PA-1", "pass", true, set("standard", kept("-1", "20")), set("barometer", kept("0.8", "1.2")), method,
	)
	var roles []string
	for _, u := range p.uses(used.ID + "/uses?since=").Uses {
		roles = append(roles, u.As)
		if low := map[string]string{"standard": `"-1"`, "barometer": `"0.8"`}[u.As]; !strings.Contains(string(u.Standard), low) {
			t.Errorf("as %s: %s", u.As, u.Standard)
		}
	}
	if !slices.Equal(roles, []string{"standard", "barometer"}) {
		t.Errorf("used as %v", roles)
	}
}

// TestUsesWithALoggersRecord checks that a run with a logger's record is calculated from that
// record. A run whose record has not arrived is listed with the reason, and the others are listed
// as well.
func TestUsesWithALoggersRecord(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	standard := f.make("standard", "", set("name", "master 1"))
	kept := set(
		"standard",
		doc{"id": standard.ID, "range": doc{"low": "0", "high": "20", "unit": "bar", "absolute": "0.01"}},
	)
	text := []byte("t;p\n0;1.000\n1;2.000\n2;0.100\n")
	sum := sha256.Sum256(text)
	here := hex.EncodeToString(sum[:])
	away := strings.Repeat("ab", 32)
	if err := p.store.PutBlob(here, text); err != nil {
		t.Fatal(err)
	}
	reading := doc{"separator": ";", "first_line": 2, "time": doc{"form": "number", "column": 1, "unit": "s"},
		"p": doc{"column": 2, "unit": "bar", "mode": "gauge"}, "unit": "bar"}
	send := func(name string) (visit string) {
		t.Helper()
		method := doc{"kind": "burst", "discs": 1, "rate": "0.1", "temperature": "none"}
		one, v, err := f.drafter.New("visit", "", "", f.now, set("item", item("DISC-"+name[:2])), set("started", plant.Stamp(f.now)), kept,
			set("method", doc{"id": "m", "version": 1, "name": "m", "definition": method}), set("person", id("technician")))
		if err != nil {
			t.Fatal(err)
		}
		two, _, err := f.drafter.New("run", "", v.ID, f.now, set("label", "as found"), set("plan", doc{"steps": []doc{}}),
			set("capture.a", doc{"step": "d1", "of": "trace", "value": name, "unit": "bar", "at": plant.Stamp(f.now), "reading": reading,
				"file": doc{"name": "x.csv", "bytes": len(text)}}), set(
				"finding", doc{"verdict": "pass", "complete": true},
			),
			set("closed", doc{"at": plant.Stamp(f.now)}))
		if err != nil {
			t.Fatal(err)
		}
		f.push(one, two)
		return v.ID
	}
	readable, missing := send(here), send(away)
	got := p.uses(standard.ID + "/uses?since=")
	if len(got.Uses) != 2 {
		t.Fatalf("%d runs, want 2", len(got.Uses))
	}
	for _, u := range got.Uses {
		switch u.Visit {
		case readable:
			if u.Unread != "" || !strings.Contains(string(u.Sheet), `"p":[1,2,0.1]`) {
				t.Errorf("the run with its record: %q, %s", u.Unread, u.Sheet)
			}
		case missing:
			if !strings.Contains(u.Unread, "has not arrived") || string(u.Sheet) != "null" {
				t.Errorf("the run without its record: %q, %s", u.Unread, u.Sheet)
			}
		}
	}
}

// TestUsesWithDamagedAndLongRecords checks that a damaged record hides no other run. Long records
// end an answer early, and the next answers have the rest.
func TestUsesWithDamagedAndLongRecords(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	standard := f.make("standard", "", set("name", "master 1"))
	kept := set(
		"standard",
		doc{"id": standard.ID, "range": doc{"low": "0", "high": "20", "unit": "bar", "absolute": "0.01"}},
	)
	method := set(
		"method",
		doc{
			"id": "m", "version": 1, "name": "m",
			"definition": doc{"kind": "burst", "discs": 1, "rate": "0.1", "temperature": "none"},
		},
	)
	reading := doc{
		"separator": ";", "first_line": 1, "time": doc{"form": "number", "column": 1, "unit": "s"},
		"p": doc{"column": 2, "unit": "bar", "mode": "gauge"}, "unit": "bar",
	}
	var long strings.Builder
	for i := range 250_000 {
		fmt.Fprintf(&long, "%d;%d.123\n", i, 1+i%9)
	}
	send := func(text, packed string) {
		t.Helper()
		sum := sha256.Sum256([]byte(text))
		name := hex.EncodeToString(sum[:])
		if err := p.store.PutBlob(name, []byte(text)); err != nil {
			t.Fatal(err)
		}
		_, run := f.visit("DISC", "pass", true, kept, method)
		f.edit(run, set("capture.a", doc{"step": "d1", "of": "trace", "value": name, "unit": "bar", "at": plant.Stamp(f.now), "reading": reading,
			"file": doc{"name": "x.csv", "bytes": len(text), "packed": packed}}))
	}
	send("this is no gzip", "gzip")
	for range 3 {
		send(long.String(), "")
	}
	got := p.uses(standard.ID + "/uses?since=")
	damaged := 0
	for _, u := range got.Uses {
		if u.Unread != "" {
			damaged++
		}
	}
	if len(got.Uses) != 4 || damaged != 1 {
		t.Errorf("%d runs, %d of them damaged", len(got.Uses), damaged)
	}
	a := p.do("reviewer", "GET", "/api/office/standards/"+standard.ID+"/uses?since=", "")
	var first usesReply
	if err := json.Unmarshal(a.body, &first); err != nil || a.status != 200 {
		t.Fatal(a.status, err)
	}
	if len(first.Uses) >= 4 || first.After == "" {
		t.Errorf("one answer holds %d runs in %d bytes", len(first.Uses), len(a.body))
	}
}

// TestUsesOfAMeter checks that a device that read a transmitter's signal is looked back on like a
// standard; a visit that used it for either is listed.
func TestUsesOfAMeter(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	meter := f.make("standard", "", set("name", "loop meter 1"))
	kept := func(id, unit string) doc {
		return doc{"id": id, "range": doc{"low": "0", "high": "24", "unit": unit, "absolute": "0.001"},
			"snapshot": doc{"name": "x", "calibrated": "2025-09-01", "due": "2027-01-01"}}
	}
	method := set(
		"method",
		doc{"definition": doc{"kind": "gauge", "points": doc{"values": []string{"0", "5"}}, "directions": "up"}},
	)
	read, _ := f.visit(
		"PT-1", "pass", true, set("standard", kept("other", "bar")), set("meter", kept(meter.ID, "mA")), method,
	)
	f.visit("PT-2", "pass", true, set("standard", kept("other", "bar")), set("meter", kept("another", "mA")), method)
	got := p.uses(meter.ID + "/uses?since=" + p.now.Format(time.DateOnly)).Uses
	if len(got) != 1 || got[0].Visit != read.ID || got[0].As != "meter" || !strings.Contains(string(got[0].Standard), meter.ID) ||
		!strings.Contains(string(got[0].Sheet), `"meter"`) {
		t.Errorf("%+v", got)
	}
}
