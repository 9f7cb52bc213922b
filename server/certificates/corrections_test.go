package certificates_test

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/plant"
)

// TestCorrectionsAndRiskAreStated evaluates a run on a water column of 1.5 m with a standard whose
// certificate has two points. It must print what was judged, with what was typed beside it. At 5
// bar by hand: 1.5 m · 9.80665 m/s² · (998.2 − 1.2) kg/m³ = 14.66 kPa up, and the standard's own
// error of 0.001 + 0.003/4 bar down: about 0.145 bar together.
func TestCorrectionsAndRiskAreStated(t *testing.T) {
	w := start(t, true, 6)
	points := []doc{
		{"applied": "0", "error": "0.001", "expanded": "0.004", "k": "2"},
		{"applied": "20", "error": "0.004", "expanded": "0.005", "k": "2"},
	}
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now,
		plant.Set{Field: "method", Value: doc{"id": "m", "version": 3, "name": "Yearly check of a gauge", "definition": doc{"kind": "gauge", "points": doc{"count": 3}, "directions": "up-down",
			"decision": doc{"rule": "guarded", "guard_factor": "1"}}}},
		plant.Set{Field: "standard", Value: doc{"id": "s", "range": doc{
			"low": "-1", "high": "20", "unit": "bar", "of_span_percent": "0.05", "k": "2",
			"points": points,
		},
			"snapshot": doc{
				"name": "Reference 4", "serial": "R-4", "certificate_no": "C-2025-118",
				"calibrated": "2025-06-01", "due": "2026-06-01",
			}}},
		plant.Set{Field: "head", Value: doc{"standard_above_m": "1.5", "fluid": "water"}},
		plant.Set{Field: "adjusted", Value: doc{"done": false, "note": ""}}))
	steps := []string{"s1.up.0", "s1.up.1", "s1.up.2", "s1.down.2", "s1.down.1", "s1.down.0"}
	values := []string{"0.15", "5.15", "10.15", "10.15", "5.15", "0.15"}
	set := []plant.Set{{Field: "finding", Value: nil}}
	for i, step := range steps { // 5.15 was typed in another unit
		c := doc{"step": step, "of": "indicated", "value": values[i], "unit": "bar", "at": "2026-03-04T08:10:00.000Z"}
		if values[i] == "5.15" {
			c["value"], c["unit"] = "515", "kPa"
		}
		set = append(set, plant.Set{Field: "capture.n" + step[1:], Value: c})
	}
	for i := range 12 {
		set = append(
			set,
			plant.Set{
				Field: fmt.Sprintf("capture.c%d", i),
				Value: doc{
					"step": "gone", "of": "indicated", "value": "0", "unit": "bar", "at": "2026-03-04T08:00:00.000Z",
				},
			},
		)
	}
	visit, err := plant.LoadVisit(w.store, w.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	run := plant.Run{}
	for _, s := range set[1:7] {
		b, err := json.Marshal(s.Value)
		if err != nil {
			t.Fatal(err)
		}
		var c plant.Capture
		if err := json.Unmarshal(b, &c); err != nil {
			t.Fatal(err)
		}
		c.ID = s.Field
		run.Captures = append(run.Captures, c)
	}
	sheet, err := visit.Sheet(&run, true)
	if err != nil {
		t.Fatal(err)
	}
	set[0].Value = json.RawMessage(calc.Call("evaluate", sheet))
	for i, r := range w.runs {
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, set...))
	}
	w.approve()
	b := w.pdf()
	if file := os.Getenv("CERTIFICATE"); file != "" {
		if err := os.WriteFile(file, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	got := text(t, b)
	wants(t, got, "direction applied indicated error limit U k verdict", "rising 5.145 5.15 +0.005 ±0.100 0.031 2.00 pass",
		"difference of level (standard 1.5 m above the item, water): +0.1466 bar", "the errors stated in the standard's certificate, between its 2 points along straight lines",
		"point as typed corrected, bar correction, bar", "5 5 bar 5.145 +0.1449", "Guard band of 1 times the expanded uncertainty",
		"As found: of an error only just accepted the probability that it lies outside the limit all the same is 2.3 %.", "As found: the largest probability of a wrong verdict in these results is less than 0.01 %.",
		"yped in kPa, judged in bar", "lets the indication change by up to 0.060 % of span")
}
