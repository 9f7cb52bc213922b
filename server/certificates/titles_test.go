package certificates_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc"
	"gaugewright/server/certificates"
	"gaugewright/server/plant"
)

// judgedAt changes the finding of a run: every point gets the risk of a wrong verdict, its
// coverage factor and degrees of freedom.
func (w *world) judgedAt(i int, risk, k, dof float64) {
	w.t.Helper()
	raw, _ := w.runs[i].Value("finding")
	var f map[string]any
	if err := json.Unmarshal(raw, &f); err != nil {
		w.t.Fatal(err)
	}
	for _, p := range f["points"].([]any) {
		p := p.(map[string]any)
		p["risk"], p["k"], p["dof"] = risk, k, dof
	}
	w.runs[i] = w.keep(w.drafter.Edit(w.runs[i], w.now, plant.Set{Field: "finding", Value: f}))
}

// TestRiskOfEachRunByName: the risk of a wrong verdict belongs to one run. That of a doubtful
// as-found result must not be hidden by a clear as-left one.
func TestRiskOfEachRunByName(t *testing.T) {
	w := start(t, true, 6)
	w.judgedAt(0, 0.48, 2, 0)
	w.judgedAt(1, 0.00002, 2, 0)
	w.approve()
	wants(t, text(t, w.pdf()),
		"As found: the largest probability of a wrong verdict in these results is 48 %",
		"As left: the largest probability of a wrong verdict in these results is less than 0.01 %")
}

// TestCoverageProbability follows ILAC-P14:09/2020 5.2: the coverage probability is given beside k
// and, if k is not 2, its basis.
func TestCoverageProbability(t *testing.T) {
	w := start(t, true, 6)
	w.judgedAt(0, 0.1, 2.87, 5)
	w.judgedAt(1, 0.1, 2, 0)
	w.approve()
	wants(
		t, text(t, w.pdf()), "for a coverage probability of about 95 %", "(2.87, 2.00)",
		"5 degrees of freedom (k = 2.87)",
	)
}

// transmitter makes the visit one to a transmitter of 0 … 10 bar with 4 … 20 mA.
func (w *world) transmitter() {
	w.t.Helper()
	item := doc{"tag": "PT-1001", "serial": "T-1", "description": "Feed header", "kind": "transmitter", "manufacturer": "Fennmark", "model": "T4",
		"range": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}, "resolution": "0.001",
		"output": doc{"low": "4", "high": "20", "unit": "mA"}, "limit": doc{"rule": "terms", "of_span_percent": "0.25"}}
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now,
		plant.Set{Field: "item", Value: item},
		plant.Set{Field: "standard", Value: doc{"id": "s", "range": doc{
			"low": "-1", "high": "20", "unit": "bar", "absolute": "0.001", "k": "2",
		},
			"snapshot": doc{
				"name": "Reference 4", "serial": "R-4", "certificate_no": "C-2025-118",
				"calibrated": "2025-06-01", "due": "2026-06-01",
			}}},
		plant.Set{Field: "method", Value: doc{"id": "m", "version": 3, "name": "Transmitter", "definition": doc{"kind": "gauge",
			"points": doc{"count": 3}, "directions": "up", "decision": doc{"rule": "simple"}}}},
		plant.Set{Field: "adjusted", Value: doc{"done": false, "note": ""}}))
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "meter", Value: doc{"id": "l", "range": doc{
		"low": "0", "high": "24", "unit": "mA", "absolute": "0.002", "k": "2",
	},
		"snapshot": doc{
			"name": "Loop meter", "serial": "L-7", "certificate_no": "C-2025-300",
			"calibrated": "2025-06-01", "due": "2026-06-01",
		}}}))
	visit, err := plant.LoadVisit(w.store, w.visit.ID)
	if err != nil {
		w.t.Fatal(err)
	}
	run, set := plant.Run{}, []plant.Set{{Field: "finding", Value: nil}}
	for i, value := range []string{"4.003", "12.011", "20.009"} {
		c := plant.Capture{ID: fmt.Sprintf("n%d", i), Step: fmt.Sprintf("s1.up.%d", i), Of: "indicated",
			Value: plant.Decimal(value), Unit: "mA", At: "2026-03-04T08:10:00.000Z"}
		run.Captures = append(run.Captures, c)
		set = append(set, plant.Set{Field: "capture." + c.ID, Value: c})
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
	sheet, err := visit.Sheet(&run, true)
	if err != nil {
		w.t.Fatal(err)
	}
	set[0].Value = json.RawMessage(calc.Call("evaluate", sheet))
	for i, r := range w.runs {
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, set...))
	}
}

// TestTransmitterSection checks that a transmitter's table says which number is a pressure and
// which a signal. By hand: 12.011 mA at 5 bar is 0.011 mA too much, 0.069 % of 16 mA.
func TestTransmitterSection(t *testing.T) {
	w := start(t, true, 6)
	w.transmitter()
	w.approve()
	b := w.pdf()
	if file := os.Getenv("CERTIFICATE"); file != "" {
		if err := os.WriteFile(file, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	got := text(t, b)
	wants(t, got, "Item Feed header, pressure transmitter", "Output 4 … 20 mA, linear", "Read to 0.001 mA",
		"Applied pressures in bar, signals in mA", "Error = measured − ideal",
		"direction applied, bar ideal, mA measured, mA error, mA % of span error, bar limit, mA U, mA verdict",
		"Error of zero +0.0030 mA (+0.019 % of span), of span +0.0060 mA (+0.038 %)", "Signal read with Loop meter, serial L-7, 0 … 24 mA", "certificate C-2025-300",
		"12.011", "+0.0110", "+0.069", "+0.0069", "error, mA", "applied pressure, bar")
	if strings.Contains(got, "All pressures in") || strings.Contains(got, "pressure gauge") {
		t.Error("a transmitter is printed as a gauge")
	}
}

func TestTitles(t *testing.T) {
	for kind, want := range map[string]string{
		"gauge": "Calibration certificate", "switch": "Switch test report", "leak": "Leak test report", "burst": "Burst test report",
		"altimeter": "Altimeter test report", "airspeed": "Airspeed indicator test report", "programme": "Test report of a programme",
	} {
		w := start(t, true, 3)
		w.visit = w.keep(
			w.drafter.Edit(
				w.visit, w.now,
				plant.Set{
					Field: "method", Value: doc{"id": "m", "version": 1, "name": "M", "definition": doc{"kind": kind}},
				},
			),
		)
		w.approve()
		got := text(t, w.pdf())
		wants(t, got, want+" No. GW-2026-0007")
		if kind != "gauge" {
			wants(t, got, "Date of test", "— End of report GW-2026-0007 —", "Report GW-2026-0007 · ")
			if strings.Contains(strings.ToLower(got), "calibration certificate") {
				t.Error(kind, "is called a calibration certificate")
			}
		}
	}
}

func TestDraftGetsNoCertificate(t *testing.T) {
	w := start(t, true, 6)
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "method", Value: doc{"id": "m", "version": 0, "name": "Nine bar (draft)",
		"definition": doc{"kind": "programme", "text": "unit bar gauge\nvent\n"}}}))
	w.approve()
	_, err := certificates.Gather(w.store, w.visit.ID, office, "1", w.now)
	if !errors.Is(err, certificates.ErrNotReady) || !strings.Contains(err.Error(), "draft") {
		t.Error(err)
	}
}

// TestNothingOverprints checks that words do not overlap: pdftotext gives the box of every word.
func TestNothingOverprints(t *testing.T) {
	tool(t, "pdftotext", "poppler-utils")
	captures := []plant.Capture{typed("ready", "answer", "yes", "", 0)}
	for i, p := range []string{"1.08", "0.95", "1.12"} {
		d := fmt.Sprintf("d%d", i+1)
		captures = append(captures, typed(
			d+".disc", "answer", "A-"+d[1:], "", 60*i+1,
		), typed(d+".shield", "answer", "yes", "", 60*i+2),
			typed(d+".temp", "answer", "21.5", "", 60*i+3), typed(d, "applied", p, "bar", 60*i+30), typed(
				d+".burst", "answer", "yes", "", 60*i+31,
			))
	}
	w := start(t, false, 6)
	file := filepath.Join(t.TempDir(), "b.pdf")
	t.Setenv("CERTIFICATE", file)
	w.printed(t, "burst", doc{"kind": "burst", "discs": 3, "rate": "0.02"}, doc{"description": "Rupture discs",
		"range": doc{
			"low": "0", "high": "4", "unit": "bar", "mode": "gauge",
		}, "particulars": doc{"marked": "1", "lot": "L-77"}}, captures)
	out, err := exec.Command("pdftotext", "-bbox", file+".burst.pdf", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	type box struct {
		x0, y0, x1, y1 float64
		word           string
	}
	n := 0
	for _, page := range strings.Split(string(out), "<page ")[1:] {
		var boxes []box
		for _, m := range regexp.MustCompile(`xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)<`).FindAllStringSubmatch(page, -1) {
			var v [4]float64
			for i := range v {
				if v[i], err = strconv.ParseFloat(m[i+1], 64); err != nil {
					t.Fatal(err)
				}
			}
			boxes = append(boxes, box{v[0], v[1], v[2], v[3], m[5]})
		}
		n += len(boxes)
		for i, a := range boxes {
			for _, b := range boxes[i+1:] {
				const slack = 1.5 // points: boxes of raised exponents and of one line touch
				if min(a.x1, b.x1)-max(a.x0, b.x0) > slack && min(a.y1, b.y1)-max(a.y0, b.y0) > 0.5*(a.y1-a.y0) {
					t.Errorf("%q and %q lie on each other", a.word, b.word)
				}
			}
		}
	}
	if n < 200 {
		t.Errorf("only %d words were read", n)
	}
}

// TestNoInternalNames checks that no internal field name, and no number with an e, is printed.
func TestNoInternalNames(t *testing.T) {
	captures := []plant.Capture{
		typed("ready", "answer", "yes", "", 0), typed("p1.t0", "answer", "20.0", "", 1),
		typed("p1.b0", "answer", "1013.2", "", 2),
	}
	for i := range 4 {
		captures = append(captures, typed("p1", "indicated", fmt.Sprintf("%.2f", 400-0.01*float64(i)), "kPa", 10+10*i))
	}
	captures = append(captures, typed("p1.t1", "answer", "20.0", "", 60), typed("p1.b1", "answer", "1013.2", "", 61))
	w := start(t, false, 6)
	got := w.printed(t, "leak", doc{
		"kind":   "leak",
		"phases": []doc{{"name": "pressure", "pressure": "400", "measure_s": 30, "every_s": 10, "limit_pa_s": "5"}},
	},
		doc{
			"description": "Closed system",
			"range":       doc{"low": "0", "high": "700", "unit": "kPa", "mode": "gauge"}, "resolution": "0.01",
			"particulars": doc{"volume_m3": "0.0001"},
		}, captures)
	if m := regexp.MustCompile(`method\.|phases\[|captures\[|surroundings\.|instrument\.[a-z]|\de[−-]\d`).FindAllString(got, -1); m != nil {
		t.Error("prints", m)
	}
	if !strings.Contains(got, "Notes of the evaluation") {
		t.Error("the run has no note, so the test sees none")
	}
}

// TestRoundingIsDecimal checks that everything is rounded by one rule: half away from zero, on the
// shortest decimal text. −16.05 and −2.05 are on different sides of the tie in binary.
func TestRoundingIsDecimal(t *testing.T) {
	w := start(t, true, 3)
	raw, _ := w.runs[0].Value("finding")
	var f map[string]any
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	errors := []float64{-16.05, -2.05, 1.95}
	for i, r := range f["readings"].([]any)[:3] {
		r.(map[string]any)["error"] = errors[i]
	}
	for _, p := range f["points"].([]any) {
		p.(map[string]any)["expanded"] = 2.1
	}
	w.runs[0] = w.keep(w.drafter.Edit(w.runs[0], w.now, plant.Set{Field: "finding", Value: f}))
	w.approve()
	wants(t, text(t, w.pdf()), " −16.1 ", " −2.1 ", " +2.0 ")
}

func TestWhoCalibratedTheStandard(t *testing.T) {
	w := start(t, true, 6)
	s := w.keep(w.drafter.New("standard", "", "", w.now, plant.Set{Field: "name", Value: "Reference 4"},
		plant.Set{
			Field: "certificate.k1",
			Value: doc{
				"number": "C-2025-118", "calibrated": "2025-06-01",
				"by": "Pressure Laboratory Eastport, accreditation 17-042",
			},
		}))
	raw, _ := w.visit.Value("standard")
	var used map[string]any
	if err := json.Unmarshal(raw, &used); err != nil {
		t.Fatal(err)
	}
	used["id"] = s.ID
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "standard", Value: used}))
	w.approve()
	wants(
		t, text(t, w.pdf()),
		"calibrated on 1 June 2025 by Pressure Laboratory Eastport, accreditation 17-042, certificate C-2025-118",
	)
}

// errors gives these errors to the first readings of the as-found run, with one limit and one
// expanded uncertainty.
func (w *world) errors(limit, expanded float64, errors ...float64) {
	w.t.Helper()
	raw, _ := w.runs[0].Value("finding")
	var f map[string]any
	if err := json.Unmarshal(raw, &f); err != nil {
		w.t.Fatal(err)
	}
	for i, r := range f["readings"].([]any)[:len(errors)] {
		r := r.(map[string]any)
		r["error"], r["limit_low"], r["limit_high"] = errors[i], -limit, limit
	}
	for _, p := range f["points"].([]any) {
		p.(map[string]any)["expanded"] = expanded
	}
	w.runs[0] = w.keep(w.drafter.Edit(w.runs[0], w.now, plant.Set{Field: "finding", Value: f}))
}

// TestRoundedToTheLastDigitOfU follows ILAC-P14:09/2020 5.3: a result is rounded to the last digit
// of its U, also to tens for U = 120.
func TestRoundedToTheLastDigitOfU(t *testing.T) {
	w := start(t, true, 3)
	w.errors(5000, 123, 1234, -1235.4, 45)
	w.approve()
	got := text(t, w.pdf())
	wants(t, got, " +1230 ±5000", " −1240 ±5000", " +50 ±5000", " 120 2.00", "rounded to the last digit of U, half away from zero",
		"The verdicts are those of the values before rounding")
}

// TestRoundingKeepsTheSideOfTheLimit: rounding must not move a value to the other side of its
// limit, nor onto it, or the line would contradict its own verdict.
func TestRoundingKeepsTheSideOfTheLimit(t *testing.T) {
	w := start(t, true, 3)
	w.errors(0.1, 0.03, 0.1004, -0.09996, 0.1)
	w.approve()
	wants(t, text(t, w.pdf()), " +0.1004 ±", " −0.09996 ±", " +0.100 ±")
}

// TestRoundedOnce: 12.345 with U 0.996, which is 1.0 in two digits, is 12.3; rounding in two steps
// would give 12.4.
func TestRoundedOnce(t *testing.T) {
	w := start(t, false, 3)
	raw, _ := w.runs[0].Value("finding")
	var f map[string]any
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	f["readings"], f["points"] = []any{}, []any{}
	f["results"] = []doc{{
		"name": "first", "value": 12.345, "unit": "kPa", "expanded": 0.996, "k": 2, "verdict": "pass",
		"limit_high": 20,
	},
		{"name": "second", "value": 20.04, "unit": "kPa", "expanded": 0.9, "k": 2, "verdict": "fail", "limit_high": 20},
		{
			"name": "third", "value": 0.00012, "unit": "kPa", "expanded": 0.0005, "k": 2, "verdict": "pass",
			"limit_high": 20,
		}}
	for i, r := range w.runs {
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, plant.Set{Field: "finding", Value: f}))
	}
	w.visit = w.keep(
		w.drafter.Edit(
			w.visit, w.now,
			plant.Set{
				Field: "method", Value: doc{"id": "m", "version": 1, "name": "M", "definition": doc{"kind": "leak"}},
			},
		),
	)
	w.approve()
	wants(
		t, text(t, w.pdf()), "first 12.3 kPa ≤ 20 1.0 ", "second 20.04 kPa ≤ 20 0.90 ",
		"third 0.00012 kPa ≤ 20 0.00050 ",
	)
}

// TestRuleOfTheOtherKinds checks that the printed rule is the one that judged, for a switch as for
// a gauge: simple acceptance if the method has none.
func TestRuleOfTheOtherKinds(t *testing.T) {
	captures := []plant.Capture{typed("ready", "answer", "yes", "", 0)}
	for i, p := range [][2]string{{"1.50", "0.81"}, {"1.51", "0.82"}} {
		captures = append(
			captures, typed(fmt.Sprintf("c%d.k1.set", i+1), "applied", p[0], "bar", 60*i+10),
			typed(fmt.Sprintf("c%d.k1.reset", i+1), "applied", p[1], "bar", 60*i+40),
		)
	}
	item := func() doc {
		return doc{"description": "Low lubrication pressure", "range": doc{
			"low": "0", "high": "4", "unit": "bar", "mode": "gauge",
		}, "resolution": "0.01",
			"particulars": doc{"contacts": []doc{
				{"name": "high", "acts": "rising", "nominal": "1.5", "tolerance": "0.05", "safe": "open"},
			}}}
	}
	w := start(t, false, 6)
	got := w.printed(
		t, "switch",
		doc{"kind": "switch", "cycles": 2, "decision": doc{"rule": "guarded", "guard_factor": "0.5"}},
		item(), captures,
	)
	wants(t, got, "Decision rule. Guard band of 0.5 times the expanded uncertainty: pass only where the figure lies within its limits less the guard band, otherwise fail.")
	if strings.Contains(got, "Simple acceptance") {
		t.Error("another rule than the one that judged is printed")
	}
	w = start(t, false, 6)
	wants(
		t, w.printed(t, "switch", doc{"kind": "switch", "cycles": 2}, item(), captures),
		"Decision rule. Simple acceptance: pass where every figure with limits",
	)
}

// TestNotesNameTheirRun checks that a note of both runs is printed once, and that a note of only
// one names it.
func TestNotesNameTheirRun(t *testing.T) {
	w := start(t, true, 3)
	for i, notes := range [][]doc{
		{{"code": "a", "message": "the zero deviation is not known"}, {"code": "b", "message": "readings are missing"}},
		{{"code": "a", "message": "the zero deviation is not known"}, {"code": "c", "message": "öl: few readings"}},
	} {
		raw, _ := w.runs[i].Value("finding")
		var f map[string]any
		if err := json.Unmarshal(raw, &f); err != nil {
			t.Fatal(err)
		}
		f["warnings"] = notes
		w.runs[i] = w.keep(w.drafter.Edit(w.runs[i], w.now, plant.Set{Field: "finding", Value: f}))
	}
	w.approve()
	got := text(t, w.pdf())
	wants(
		t, got, "Notes of the evaluation The zero deviation is not known. As found: Readings are missing.",
		" As left: Öl: few readings.",
	)
	if strings.Count(got, "zero deviation") != 1 {
		t.Error("a note is printed twice")
	}
}

// TestFirstLetterOfANote: a phase may have any name, so its first letter may have several bytes.
func TestFirstLetterOfANote(t *testing.T) {
	w := start(t, true, 3)
	for i, r := range w.runs {
		raw, _ := r.Value("finding")
		var f map[string]any
		if err := json.Unmarshal(raw, &f); err != nil {
			t.Fatal(err)
		}
		f["warnings"] = []doc{{"code": "a", "message": "öl: few readings"}}
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, plant.Set{Field: "finding", Value: f}))
	}
	w.approve()
	wants(t, text(t, w.pdf()), "Notes of the evaluation Öl: few readings")
}

// TestPowerOfTenInANote checks that a power of ten in the calculation's sentences is printed with
// raised digits; the typeface lacks most superscripts of Unicode.
func TestPowerOfTenInANote(t *testing.T) {
	w := start(t, true, 3)
	for i, r := range w.runs {
		raw, _ := r.Value("finding")
		var f map[string]any
		if err := json.Unmarshal(raw, &f); err != nil {
			t.Fatal(err)
		}
		f["warnings"] = []doc{{"code": "a", "message": "the measured volume, 1.2 × 10⁻⁵ m³, is far from 3 × 10¹² m³"}}
		w.runs[i] = w.keep(w.drafter.Edit(r, w.now, plant.Set{Field: "finding", Value: f}))
	}
	w.approve()
	got := strings.NewReplacer(" −5", "−5", " 12 ", "12 ").Replace(text(t, w.pdf()))
	wants(t, got, "1.2 × 10−5 m³, is far from 3 × 1012 m³")
}

// TestDeparturesAreStated: a reading that was kept early, with a reason, is a departure from the
// method, and the certificate says so.
func TestDeparturesAreStated(t *testing.T) {
	w := start(t, true, 6)
	capture := func(more doc) doc {
		c := doc{"step": "s1.up.1", "of": "indicated", "value": "2.13", "unit": "bar", "at": "2026-03-04T08:10:00.000Z"}
		for name, v := range more {
			c[name] = v
		}
		return c
	}
	w.runs[0] = w.keep(w.drafter.Edit(w.runs[0], w.now, plant.Set{
		Field: "capture.c1", Value: capture(doc{"reason": "the line cools down"}),
	},
		plant.Set{Field: "capture.x1", Value: capture(doc{"step": "s1.up.2", "reason": "the line cools down"})},
		plant.Set{
			Field: "capture.x2", Value: capture(doc{"step": "s1.up.3", "supersedes": "c3", "reason": "mistyped"}),
		}))
	w.approve()
	got := text(t, w.pdf())
	wants(
		t, got, "Departures from the method, as recorded",
		"As found: 2 readings kept with the reason “the line cools down”.",
		"a hold of 30 s planned at each point",
	)
	if strings.Contains(got, "“mistyped”") {
		t.Error("a correction is called a departure")
	}
}

// TestAfterTheFailureOnPaper checks that the document has what was decided about a failed item, and
// what became of each bypass.
func TestAfterTheFailureOnPaper(t *testing.T) {
	for _, c := range []struct {
		said doc
		want string
	}{
		{doc{
			"way": "left_in_service", "by": "shift lead", "until": "2026-04-01",
			"reason": "a second one stands beside it",
		},
			"left in service until 1 April 2026 by decision of shift lead: a second one stands beside it"},
		{
			doc{"way": "taken_out", "code": "sticks", "reason": "hangs at 4 bar"},
			"taken out of service and tagged; sticks or is slow: hangs at 4 bar",
		},
		{doc{"way": "replaced", "serial": "Q-2"}, "replaced by serial Q-2"},
	} {
		w := start(t, true, 6)
		w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "disposition", Value: c.said},
			plant.Set{Field: "bypass.a", Value: doc{"name": "jumper 14", "state": "removed"}}, plant.Set{
				Field: "bypass.b", Value: doc{"name": "key 3", "state": "left", "reason": "out of use"},
			}))
		w.approve()
		wants(
			t, text(t, w.pdf()), "After the failure "+c.want, "Bypasses jumper 14: removed; key 3: left in, out of use",
		)
	}
}

// TestPermitIsPrinted checks that the document gives the number of the permit to work, if there was
// one.
func TestPermitIsPrinted(t *testing.T) {
	w := start(t, true, 6)
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{
		Field: "cautions", Value: doc{"codes": []string{"vent"}, "met": true, "permit": "PTW-2207"},
	}))
	w.approve()
	wants(t, text(t, w.pdf()), "Permit to work PTW-2207")
}
