package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/plant"
)

// TestFindingsFromLoggersAreRecalculated checks that a finding from a logger's record is checked
// when the record arrives, whole or in pieces, and not before.
func TestFindingsFromLoggersAreRecalculated(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	method := doc{"kind": "burst", "discs": 1, "rate": "0.1", "temperature": "none"}
	thing := item("DISC-1")
	thing["particulars"] = doc{"marked": "5"}
	var b strings.Builder
	b.WriteString("t;p\n")
	for i := range 400 {
		fmt.Fprintf(&b, "%d;%.3f\n", i*10, map[bool]float64{true: 1 + float64(i)/75, false: 0.1}[i < 300])
	}
	text := []byte(b.String())
	sum := sha256.Sum256(text)
	name := hex.EncodeToString(sum[:])
	reading := doc{
		"separator": ";", "first_line": 2, "time": doc{"form": "number", "column": 1, "unit": "ms"},
		"p": doc{"column": 2, "unit": "bar", "mode": "gauge"}, "unit": "bar",
	}
	send := func(alter func(string) string) (visit string) {
		t.Helper()
		one, v, err := f.drafter.New("visit", "", "", f.now, set("item", thing), set("started", plant.Stamp(f.now)),
			set("method", doc{"id": "m", "version": 1, "name": "m", "definition": method}), set("person", id("technician")))
		if err != nil {
			t.Fatal(err)
		}
		begun, run, err := f.drafter.New("run", "", v.ID, f.now, set("label", "as found"), set("plan", doc{"steps": []doc{}}),
			set(
				"capture.a",
				doc{
					"step": "d1", "of": "trace", "value": name, "unit": "bar", "at": plant.Stamp(f.now),
					"reading": reading, "file": doc{"name": "x.csv", "bytes": len(text)},
				},
			))
		if err != nil {
			t.Fatal(err)
		}
		var captures struct{ Samples json.RawMessage }
		head := js(doc{"do": "read", "last": true, "reading": reading})
		if err := json.Unmarshal(calc.CallBytes("trace", []byte(head), text), &captures); err != nil {
			t.Fatal(err)
		}
		trace := strings.Replace(string(captures.Samples), "{", `{"step":"d1","unit":"bar",`, 1)
		sheet := js(doc{"method": method, "instrument": doc{
			"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "resolution": "0.1",
			"limit": doc{"rule": "en837", "class": "1.6"}, "particulars": doc{"marked": "5"},
		},
			"captures": []doc{}, "traces": []json.RawMessage{json.RawMessage(trace)}, "complete": true})
		found := string(calc.Call("evaluate", []byte(sheet)))
		if !strings.Contains(found, `"peak"`) {
			t.Fatal(found)
		}
		end, _, err := f.drafter.Edit(
			run, f.now, set("finding", json.RawMessage(alter(found))),
			set("closed", doc{"at": plant.Stamp(f.now)}),
		)
		if err != nil {
			t.Fatal(err)
		}
		f.push(one, begun, end)
		return v.ID
	}
	right := send(func(s string) string { return s })
	wrong := send(func(s string) string { return strings.Replace(s, `"peak":4.987`, `"peak":4.986`, 1) })
	checks := func(visit string) []plant.Remark {
		t.Helper()
		v, err := plant.LoadVisit(p.store, visit)
		if err != nil {
			t.Fatal(err)
		}
		return v.Checks
	}
	attention := func(visit string) []string {
		t.Helper()
		var seen struct{ Attention []string }
		a := p.do("reviewer", "GET", "/api/office/visits/"+visit, "")
		if err := json.Unmarshal(a.body, &seen); err != nil || a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		return seen.Attention
	}
	if !slices.Contains(attention(wrong), "trace_away") || len(checks(wrong))+len(checks(right)) > 0 {
		t.Errorf("before the record: %v %v", attention(wrong), checks(wrong))
	}
	if a := p.do("technician", "PUT", "/api/blobs/"+name, string(text)); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if c := checks(wrong); len(c) != 1 || !strings.Contains(c[0].Text, "4.986") {
		t.Errorf("the altered finding: %+v", c)
	}
	if c := checks(right); len(c) > 0 {
		t.Errorf("the right finding: %+v", c)
	}
	if list := attention(wrong); slices.Contains(list, "trace_away") || !slices.Contains(list, "recomputed") {
		t.Errorf("after the record: %v", list)
	}
}
