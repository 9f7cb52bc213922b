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

// printed changes the visit of w to another kind of work, judges the captures and prints the
// certificate.
func (w *world) printed(t *testing.T, name string, method, item doc, captures []plant.Capture) string {
	t.Helper()
	item["tag"], item["serial"], item["manufacturer"], item["model"], item["kind"] = "X-1", "7", "Ostrevna Forge", "T", method["kind"]
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{
		Field: "method", Value: doc{"id": "m", "version": 1, "name": name, "definition": method},
	},
		plant.Set{Field: "item", Value: item}, plant.Set{Field: "adjusted", Value: doc{"done": false, "note": ""}}))
	visit, err := plant.LoadVisit(w.store, w.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	run := plant.Run{}
	set := []plant.Set{{Field: "finding", Value: nil}}
	for i, c := range captures {
		c.ID = fmt.Sprintf("n%d", i)
		run.Captures = append(run.Captures, c)
		set = append(set, plant.Set{Field: "capture." + c.ID, Value: c})
	}
	sheet, err := visit.Sheet(&run, true)
	if err != nil {
		t.Fatal(err)
	}
	finding := calc.Call("evaluate", sheet)
	set[0].Value = json.RawMessage(finding)
	for i, r := range w.runs {
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, set...))
	}
	w.approve()
	b := w.pdf()
	if file := os.Getenv("CERTIFICATE"); file != "" {
		if err := os.WriteFile(file+"."+name+".pdf", b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return text(t, b)
}

func typed(step, of, value, unit string, second int) plant.Capture {
	return plant.Capture{
		Step: step, Of: of, Value: plant.Decimal(value), Unit: unit,
		At: fmt.Sprintf("2026-03-04T08:%02d:%02d.000Z", second/60, second%60),
	}
}

// TestLeakSection prints a leak test: rate and limit, the volume, and the readings with the line
// through them.
func TestLeakSection(t *testing.T) {
	captures := []plant.Capture{
		typed("ready", "answer", "yes", "", 0), typed("p1.t0", "answer", "20.0", "", 1),
		typed("p1.b0", "answer", "1013.2", "", 2),
	}
	for i := range 13 {
		captures = append(captures, typed("p1", "indicated", fmt.Sprintf("%.2f", 400-0.12*float64(i)), "kPa", 10+10*i))
	}
	captures = append(captures, typed("p1.t1", "answer", "20.0", "", 140), typed("p1.b1", "answer", "1013.2", "", 141))
	w := start(t, false, 6)
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "standard", Value: doc{"id": "s", "range": doc{
		"low": "0", "high": "2000", "unit": "kPa", "of_span_percent": "0.05",
	},
		"snapshot": doc{
			"name": "Reference 4", "serial": "R-4", "certificate_no": "C-2025-118",
			"calibrated": "2025-06-01", "due": "2026-06-01",
			"range": doc{"low": "0", "high": "2000", "unit": "kPa"},
		}}}))
	got := w.printed(t, "leak", doc{
		"kind": "leak", "source": "works instruction 7",
		"phases": []doc{{"name": "pressure", "pressure": "400", "measure_s": 120, "every_s": 10, "limit_pa_s": "5"}},
	},
		doc{
			"description": "Closed system",
			"range":       doc{"low": "0", "high": "700", "unit": "kPa", "mode": "gauge"}, "resolution": "0.01",
			"particulars": doc{"volume_m3": "0.001"},
		}, captures)
	// 120 Pa in 10 s is 12 Pa/s, more than 5 by far, at the temperature of the test.
	wants(t, got, "As found: fail", "Test volume 0.001 m³", "pressure: start 400.00 kPa", "pressure: end 398.56 kPa", "pressure: rate 12.0 Pa/s ≤5", "pressure: leak rate 0.0120 Pa·m³/s", "1 works instruction 7",
		"pressure: pressure, compensated, with its straight line, kPa", "time, s")
}

// TestSwitchSection prints a switch: its contact, the statistics and the points of the cycles.
func TestSwitchSection(t *testing.T) {
	captures := []plant.Capture{typed("ready", "answer", "yes", "", 0)}
	for i, p := range [][2]string{{"1.50", "0.81"}, {"1.52", "0.83"}} {
		captures = append(
			captures, typed(fmt.Sprintf("c%d.k1.set", i+1), "applied", p[0], "bar", 60*i+10),
			typed(fmt.Sprintf("c%d.k1.reset", i+1), "applied", p[1], "bar", 60*i+40),
		)
	}
	w := start(t, false, 6)
	got := w.printed(t, "switch", doc{"kind": "switch", "cycles": 2}, doc{"description": "Pressure switch", "range": doc{
		"low": "0", "high": "4", "unit": "bar", "mode": "gauge",
	},
		"particulars": doc{"contacts": []doc{
			{
				"name": "high", "acts": "rising", "nominal": "1.5", "tolerance": "0.05",
				"dead_band": doc{"low": "0.6", "high": "0.7"}, "safe": "open", "safety_function": true,
			},
		}}}, captures)
	wants(t, got, "As found: pass", "high set by rising pressure at (1.50 ± 0.05) bar; open on the safe side; safety function, found once and not repeated", "high: set point, mean 1.51 bar",
		"high: set point, maximum 1.520 bar", "high: dead band, minimum 0.690 bar 0.6 … 0.7", "high: dead band, range 0 bar", "high: dead band, standard deviation 0 bar", "high: first actuation 1.500 bar", "high: set points (full), their limits (dashed) and reset points (hollow), bar", "cycle")
}

// TestBurstSection prints two discs of a lot: each with its identity and temperature, and that two
// are too few.
func TestBurstSection(t *testing.T) {
	captures := []plant.Capture{typed("ready", "answer", "yes", "", 0)}
	for i, p := range []string{"1.02", "0.98"} {
		d := fmt.Sprintf("d%d", i+1)
		captures = append(captures, typed(
			d+".disc", "answer", "R-10"+d[1:], "", 60*i+1,
		), typed(d+".shield", "answer", "yes", "", 60*i+2), typed(d+".temp", "answer", "21.5", "", 60*i+3),
			typed(d, "applied", p, "bar", 60*i+30), typed(d+".burst", "answer", "yes", "", 60*i+31))
	}
	w := start(t, false, 6)
	got := w.printed(t, "burst", doc{
		"kind": "burst", "discs": 2, "rate": "0.02",
	}, doc{"description": "Rupture discs", "range": doc{
		"low": "0", "high": "4", "unit": "bar", "mode": "gauge",
	},
		"particulars": doc{"marked": "1", "lot": "L-77", "lot_size": 40}}, captures)
	wants(t, got, "As found: pass", "Marked burst pressure (1.000 ± 0.138) bar", "Lot L-77, 40 discs", "Disc 1 R-101, at 21.5 °C", "disc 2, R-102 0.980 bar", "lot: mean 1 bar", "2 discs are too few",
		"ASME UG-127(a)(1)", "never extrapolated")
}

// TestProgrammeSection prints a programme's run: what its own rules judged, and nothing of the
// specification of its gauge.
func TestProgrammeSection(t *testing.T) {
	item := func() doc {
		return doc{
			"description": "Gauge of a skid",
			"range":       doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}, "resolution": "0.01",
			"limit": doc{"rule": "en837", "class": "1"},
		}
	}
	const text = "unit bar gauge\nvent\nread zero from gauge\nset 3\nread low from gauge\nset 6\nread high from gauge\nread free from gauge\n"
	read := []plant.Capture{
		typed("l3.1", "indicated", "0.01", "bar", 10), typed("l5.1", "indicated", "3.02", "bar", 20),
		typed("l7.1", "indicated", "5.71", "bar", 30), typed("l8.1", "indicated", "5.70", "bar", 40),
	}
	judged := doc{"kind": "programme", "text": text, "rules": []doc{{
		"name": "zero", "low": "-0.02", "high": "0.02",
	}, {"name": "low", "high": "310", "unit": "kPa"},
		{"name": "step", "when": "high - low > 2.9", "text": "the pointer sticks"}}}
	w := start(t, false, 6)
	got := w.printed(t, "programme", judged, item(), read)
	wants(t, got, "As found: fail", "Judged against zero: ±0.02 bar; low: ≤ 3.1 bar; step: high - low > 2.9", "Against: the rules of the programme, each beside what it judges.",
		"what has none is recorded and not judged", "every condition holds", "zero 0.01 bar ±0.02", "low 3.02 bar ≤ 3.1", "free 5.70 bar none", "step does not hold", "the pointer sticks")
	for _, not := range []string{"Specification", "EN 837", "±1 % of span", "where the error"} {
		if strings.Contains(got, not) {
			t.Errorf("says %q, which judged nothing", not)
		}
	}
	w = start(t, false, 6)
	wants(
		t, w.printed(t, "bare programme", doc{"kind": "programme", "text": text}, item(), read),
		"As found: undecided", "Judged against no rule of the programme judged what was read",
	)
}
