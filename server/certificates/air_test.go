package certificates_test

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/plant"
)

// TestPitotStaticSection evaluates an altimeter's run and prints it: each figure with its
// tolerance, the source of that and its verdict, and the field of the test.
func TestPitotStaticSection(t *testing.T) {
	w := start(t, false, 6)
	method := doc{"kind": "altimeter", "pitot": "none", "tests": []string{"scale", "hysteresis", "case-leak"}, "highest_ft": 10000, "source": "manual 34-12",
		"scale": []doc{{"ft": 0}, {"ft": 4000, "tolerance_ft": "28"}, {"ft": 10000}}}
	parts := doc{"field_elevation_ft": 420, "max_rate_ft_min": 5000, "max_cas_kt": 260}
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now,
		plant.Set{Field: "method", Value: doc{"id": "m", "version": 1, "name": "Altimeter", "definition": method}},
		plant.Set{Field: "item", Value: doc{"tag": "AL-9", "serial": "7", "kind": "altimeter", "description": "Altimeter of the trainer", "manufacturer": "Skarnholt", "model": "A20",
			"range": doc{
				"low": "-1000", "high": "20000", "unit": "ft", "mode": "absolute",
			}, "resolution": "10", "particulars": parts}},
		plant.Set{Field: "standard", Value: doc{"id": "s", "range": doc{
			"low": "-2000", "high": "50000", "unit": "ft", "mode": "absolute", "absolute": "4", "k": "2",
		},
			"snapshot": doc{
				"name": "Air data set", "serial": "AD-9", "certificate_no": "C-1",
				"calibrated": "2025-06-01", "due": "2026-06-01",
			}}},
		plant.Set{Field: "adjusted", Value: doc{"done": false, "note": ""}}))
	visit, err := plant.LoadVisit(w.store, w.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	run := plant.Run{}
	set := []plant.Set{{Field: "finding", Value: nil}}
	for i, c := range []plant.Capture{
		{Step: "ready.lines", Of: "answer", Value: "yes"}, {Step: "field", Of: "answer", Value: "998.4", Unit: "hPa"},
		{Step: "scale.0", Of: "indicated", Value: "10", Unit: "ft"}, {
			Step: "scale.4000", Of: "indicated", Value: "4030", Unit: "ft",
		}, {Step: "scale.5000", Of: "indicated", Value: "5020", Unit: "ft"},
		{Step: "scale.10000", Of: "indicated", Value: "10050", Unit: "ft"}, {
			Step: "hysteresis.5000", Of: "indicated", Value: "5090", Unit: "ft",
		},
		{
			Step: "hysteresis.4000", Of: "indicated", Value: "4060", Unit: "ft",
		}, {
			Step: "leak.start", Of: "indicated", Value: "10000", Unit: "ft",
		}, {Step: "leak", Of: "indicated", Value: "9970", Unit: "ft"},
		{Step: "end.static", Of: "answer", Value: "998.4", Unit: "hPa"}, {Step: "end.restored", Of: "answer", Value: "yes"},
	} {
		c.ID, c.At = fmt.Sprintf("n%d", i), "2026-03-04T08:10:00.000Z"
		run.Captures = append(run.Captures, c)
		set = append(set, plant.Set{Field: "capture." + c.ID, Value: c})
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
	wants(t, got, "Altimeter of the trainer", "As found: fail", "1 of 7 figures lie outside their limits", "Against: the limit beside each figure",
		"Field pressure 998.4 hPa, measured at the beginning (29.48 inHg)", "Field elevation 420 ft", "All values in ft.", "figure applied indicated error limit U k source verdict",
		"scale 0 ft 0.0 10 10.0 ±20 4.0 2.00 1 undecided", "scale 4000 ft 4000.0 4030 30.0 ±28 4.0 2.00 2 fail", "scale 5000 ft 5000.0 5020 20.0 none 4.0 2.00", "hysteresis 50 %, 5000 ft 5020 5090 70 ±75 – 3 pass",
		"case leak at 10000 ft 30 ±100", "1 14 CFR Part 43 Appendix E, table I; tolerance from memory: check against the current text", "2 manual 34-12",
		"error over the scale, ft", "falling less rising, ft", "applied, ft",
		"Error = indicated − applied; where two readings", "A leak is the change in one minute", "U is that of what was applied.",
		"The next test is due after 24 calendar months by the method", "How well the item can be read is not in it.")
	if strings.Contains(got, "for the owner to decide") {
		t.Error("the next test is due by the method and as the owner decides")
	}
}
