package api_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
)

// push sends changes as the technician's phone does.
func (f *phone) push(list ...change.Change) {
	f.t.Helper()
	a := f.do("technician", "POST", "/api/sync", push(list...))
	var r struct{ Quarantined []any }
	if err := json.Unmarshal(a.body, &r); err != nil || a.status != 200 || len(r.Quarantined) > 0 {
		f.t.Fatalf("%d %s", a.status, a.body)
	}
}

// TestFindingsAreRecalculated sends a run with the finding of the phone's calculation, one with
// an altered number, one with the same number in other digits, and one that is corrected
// afterwards.
func TestFindingsAreRecalculated(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	method := doc{"kind": "gauge", "points": doc{"values": []string{"0", "5", "10"}}, "directions": "up", "cycles": 1, "exercise": 0, "tap": false, "hold_s": 0, "hold_top_s": 0,
		"way": "applied-set", "decision": doc{"rule": "simple"}}
	send := func(tag string, alter func(string) string, later bool) string {
		t.Helper()
		one, visit, err := f.drafter.New("visit", "", "", f.now, set("item", item(tag)), set("started", plant.Stamp(f.now)),
			set("method", doc{"id": "m", "version": 1, "name": "m", "definition": method}), set("person", id("technician")))
		if err != nil {
			t.Fatal(err)
		}
		f.push(one)
		var plan struct {
			Steps []struct{ ID, Do, Target string }
		}
		expanded := calc.Call(
			"expand",
			[]byte(
				js(
					doc{
						"method": method,
						"instrument": doc{
							"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "resolution": "0.1",
							"limit": doc{"rule": "en837", "class": "1.6"},
						},
					},
				),
			),
		)
		if err := json.Unmarshal(expanded, &plan); err != nil || len(plan.Steps) == 0 {
			t.Fatalf("%s %v", expanded, err)
		}
		sets := []plant.Set{set("label", "as found"), set("plan", json.RawMessage(expanded))}
		for _, s := range plan.Steps {
			if s.Do == "read" {
				sets = append(
					sets,
					set(
						"capture."+strings.ReplaceAll(s.ID, ".", ""),
						doc{
							"step": s.ID, "of": "indicated", "value": s.Target, "unit": "bar", "at": plant.Stamp(f.now),
						},
					),
				)
			}
		}
		begun, run, err := f.drafter.New("run", "", visit.ID, f.now, sets...)
		if err != nil {
			t.Fatal(err)
		}
		f.push(begun)
		r, err := plant.ReadRun(run)
		if err != nil {
			t.Fatal(err)
		}
		v, err := plant.ReadVisit(visit)
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := v.Sheet(&r, true)
		if err != nil {
			t.Fatal(err)
		}
		found := string(calc.Call("evaluate", sheet))
		if !strings.Contains(found, `"verdict":"pass"`) {
			t.Fatal(found)
		}
		end, run, err := f.drafter.Edit(
			run, f.now, set("finding", json.RawMessage(alter(found))),
			set("closed", doc{"at": plant.Stamp(f.now)}),
		)
		if err != nil {
			t.Fatal(err)
		}
		f.push(end)
		if later {
			right, _, err := f.drafter.Edit(run, f.now, set("finding", json.RawMessage(found)))
			if err != nil {
				t.Fatal(err)
			}
			f.push(right)
		}
		return visit.ID
	}
	same := func(s string) string { return s }
	altered := func(s string) string { return strings.Replace(s, `"error":0,`, `"error":5e-324,`, 1) }
	for _, tt := range []struct {
		tag   string
		alter func(string) string
		later bool
		note  string // of the check; "" if there is none that is not ok
	}{
		{"same", same, false, ""},
		{"one bit", altered, false, "recorded 5e-324, calculated again 0"},
		{
			"other digits", func(s string) string { return strings.Replace(s, `"error":0,`, `"error":0.0e0,`, 1) },
			false, "",
		},
		{"a version more", func(s string) string { return strings.Replace(s, `"calc":"`, `"calc":"9`, 1) }, false, ""},
		{
			"a verdict",
			func(s string) string { return strings.Replace(s, `"verdict":"pass"`, `"verdict":"fail"`, 1) },
			false, `verdict: recorded "fail", calculated again "pass"`,
		},
		{"put right", altered, true, ""},
	} {
		id := send(tt.tag, tt.alter, tt.later)
		v, err := plant.LoadVisit(p.store, id)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case tt.note == "" && len(v.Checks) > 0, tt.note != "" && (len(v.Checks) != 1 || !strings.Contains(v.Checks[0].Text, tt.note)):
			t.Errorf("%s: %+v", tt.tag, v.Checks)
		}
		for _, r := range p.day(t, "2026-03-04").Visits {
			if r.Tag == tt.tag && slices.Contains(r.Attention, "recomputed") != (tt.note != "") {
				t.Errorf("%s: %v", tt.tag, r.Attention)
			}
		}
	}
}
