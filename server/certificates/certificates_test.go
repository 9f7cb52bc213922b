package certificates_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	_ "image/png"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"gaugewright/server/certificates"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

type doc = map[string]any

// world is an invented plant with one visit: a gauge of 0 … 10 bar, class 1, found outside its
// limit and adjusted.
type world struct {
	t       *testing.T
	store   *store.Store
	drafter plant.Drafter
	now     time.Time
	visit   merge.State
	runs    []merge.State
}

func (w *world) keep(c change.Change, s merge.State, err error) merge.State {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
	r, err := w.store.Add(context.Background(), []change.Change{c})
	if err != nil || len(r.Accepted) != 1 {
		w.t.Fatal(r, err)
	}
	w.now = w.now.Add(time.Minute)
	return s
}

func start(t *testing.T, uncertain bool, points int) *world {
	t.Helper()
	return startRuns(t, uncertain, points, "as found", "as left")
}

// startRuns starts with a signed visit with these runs.
func startRuns(t *testing.T, uncertain bool, points int, labels ...string) *world {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	w := &world{
		t: t, store: s, drafter: plant.Drafter{Device: "d1", Author: "a1", Random: rand.NewChaCha8([32]byte{3})},
		now: time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC),
	}
	tech := w.keep(w.drafter.New("person", "", "", w.now, plant.Set{Field: "name", Value: "Jorin Alder"}))
	reviewer := w.keep(w.drafter.New("person", "", "", w.now, plant.Set{Field: "name", Value: "Mira Søndergård"}))
	site := w.keep(w.drafter.New("site", "", "", w.now, plant.Set{Field: "name", Value: "Works North"}))
	w.visit = w.keep(w.drafter.New("visit", site.ID, "", w.now,
		plant.Set{Field: "started", Value: "2026-03-04T08:00:00.000Z"}, plant.Set{Field: "person", Value: tech.ID},
		plant.Set{Field: "method", Value: doc{"id": "m", "version": 3, "name": "Yearly check of a gauge", "definition": doc{"kind": "gauge", "points": doc{"count": points},
			"directions": "up-down", "cycles": 1, "exercise": 2, "tap": true, "hold_s": 30, "way": "applied-set", "decision": doc{"rule": "simple"}}}},
		plant.Set{Field: "item", Value: doc{"tag": "PI-1001", "serial": "A-77", "description": "Cooling water supply", "kind": "gauge", "manufacturer": "Fennmark Dial", "model": "K2",
			"range": doc{
				"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
			}, "resolution": "0.05", "limit": doc{"rule": "en837", "class": "1"}, "area": "Area 3", "place": "pump house"}},
		plant.Set{Field: "standard", Value: doc{"id": "s", "range": doc{
			"low": "0", "high": "20", "unit": "bar", "of_span_percent": "0.05",
		},
			"snapshot": doc{
				"name": "Reference 4", "serial": "R-4", "certificate_no": "C-2025-118",
				"calibrated": "2025-06-01", "due": "2026-06-01",
				"range": doc{"low": "0", "high": "2000", "unit": "kPa"},
			}}},
		plant.Set{Field: "surroundings", Value: doc{"temperature_c": "21.5", "humidity_percent": "48"}},
		plant.Set{Field: "identity", Value: doc{"ok": true, "note": ""}}, plant.Set{
			Field: "condition", Value: doc{"ok": true, "note": "glass scratched"},
		},
		plant.Set{
			Field: "adjusted", Value: doc{"done": true, "note": "pointer moved"},
		}, plant.Set{Field: "remark.r1", Value: doc{"text": "Isolation valve stiff."}}))
	for _, label := range labels {
		off := map[string]float64{"as found": 0.13, "as left": 0.13 - 0.11}[label]
		w.runs = append(
			w.runs, w.keep(w.drafter.New("run", site.ID, w.visit.ID, w.now, run(label, off, uncertain, points)...)),
		)
	}
	runs, err := plant.Runs(s, w.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	w.visit = w.keep(
		w.drafter.Edit(
			w.visit, w.now,
			plant.Set{
				Field: "signature",
				Value: doc{"name": "Jorin Alder", "at": "2026-03-04T09:00:00.000Z", "covers": plant.Covers(runs)},
			},
		),
	)
	w.drafter.Author = reviewer.ID
	return w
}

// run makes the fields of a run whose errors are all the same. Its finding is worked out by hand:
// limit 0.1 bar, class 1 of a span of 10 bar.
func run(label string, off float64, uncertain bool, points int) []plant.Set {
	set := []plant.Set{{Field: "label", Value: label}, {Field: "closed", Value: doc{"at": "2026-03-04T08:30:00.000Z"}}}
	readings, summary := []doc{}, []doc{}
	verdict := "pass"
	if off > 0.1 {
		verdict = "fail"
	}
	for i := range 2 * points {
		k, direction := i, "up"
		if i >= points {
			k, direction = 2*points-1-i, "down"
		}
		applied := 10 * float64(k) / float64(points-1)
		step := fmt.Sprintf("s1.%s.%d", direction, k)
		point := fmt.Sprintf("%.2f", applied)
		readings = append(readings, doc{"step": step, "series": 1 + i/points, "direction": direction, "point": point, "applied": applied, "indicated": applied + off,
			"error": off, "limit_low": -0.1, "limit_high": 0.1, "fraction": off / 0.1, "verdict": verdict})
		set = append(
			set,
			plant.Set{
				Field: fmt.Sprintf("capture.c%d", i),
				Value: doc{
					"step": step, "of": "indicated", "value": fmt.Sprintf("%.2f", applied+off),
					"unit": "bar", "at": "2026-03-04T08:10:00.000Z",
				},
			},
		)
		if i < points {
			p := doc{"point": applied, "applied": applied, "error": off, "limit": 0.1, "verdict": verdict}
			if uncertain {
				p["u"], p["k"], p["expanded"] = 0.016, 2, 0.032
			}
			summary = append(summary, p)
		}
	}
	finding := doc{"verdict": verdict, "complete": true, "missing": []string{}, "readings": readings, "points": summary, "worst": doc{
		"point": "10.00", "direction": "up", "fraction": off / 0.1,
	},
		"warnings": []doc{}, "calc": "1.0.0"}
	return append(set, plant.Set{Field: "finding", Value: finding})
}

func (w *world) approve() {
	w.t.Helper()
	runs, err := plant.Runs(w.store, w.visit.ID)
	if err != nil {
		w.t.Fatal(err)
	}
	w.visit = w.keep(
		w.drafter.Edit(
			w.visit, w.now,
			plant.Set{Field: "approval", Value: doc{"certificate": "c1", "covers": plant.Covers(runs)}},
		),
	)
}

var office = certificates.Office{
	Name: "Instrument Workshop North", Address: []string{"1 Mill Lane", "Northtown"},
	Customer: []string{"Plant Operations", "2 Mill Lane, Northtown"}, Base: "https://gauges.example",
}

func (w *world) input() certificates.Input {
	w.t.Helper()
	in, err := certificates.Gather(
		w.store, w.visit.ID, office, "GW-2026-0007", time.Date(2026, 3, 6, 10, 0, 0, 0, time.UTC),
	)
	if err != nil {
		w.t.Fatal(err)
	}
	return in
}

func (w *world) pdf() []byte {
	w.t.Helper()
	b, err := certificates.PDF(w.input())
	if err != nil {
		w.t.Fatal(err)
	}
	return b
}

func tool(t *testing.T, name, pack string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Fatalf("install %s (Debian package %s): %v", name, pack, err)
	}
}

// text returns the words of a PDF, line by line as on the page, with single spaces.
func text(t *testing.T, b []byte) string {
	t.Helper()
	tool(t, "pdftotext", "poppler-utils")
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(b)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return regexp.MustCompile(`[ \n]+`).ReplaceAllString(string(out), " ")
}

func wants(t *testing.T, got string, lines ...string) {
	t.Helper()
	for _, l := range lines {
		if !strings.Contains(got, l) {
			t.Errorf("lacks %q", l)
		}
	}
}

func TestWhatStandsOnIt(t *testing.T) {
	w := start(t, true, 6)
	w.approve()
	got := text(t, w.pdf())
	wants(t, got, "Calibration certificate No. GW-2026-0007", "Instrument Workshop North", "1 Mill Lane", "Customer Plant Operations, 2 Mill Lane, Northtown",
		"Maker and model Fennmark Dial K2", "Serial number A-77", "Tag PI-1001", "Range 0 … 10 bar (gauge)", "Specification EN 837-1 class 1: ±1 % of span",
		"Condition good, fit to be calibrated; glass scratched", "Place of the work Works North, Area 3, pump house", "Date of calibration 4 March 2026",
		"Date of issue 6 March 2026", "Method Yearly check of a gauge, version 3: 6 points evenly over the range, rising and falling",
		"Conditions 21.5 °C, 48 % relative humidity", "0 … 2000 kPa", "calibrated on 1 June 2025, certificate C-2025-118", "Adjustment adjusted: pointer moved",
		"As found: fail", "As left: pass", "Decision rule. Simple acceptance", "Results as found", "Results as left, after adjustment",
		"rising 2.00 2.13 +0.130 ±0.100 0.032 2.00 fail", "falling 0.00 0.02 +0.020 ±0.100 0.032 2.00 pass", "coverage factor k = 2.00, for a coverage probability of about 95 %", "Isolation valve stiff.",
		"Work done by Jorin Alder, signed 4 March 2026", "Authorised by Mira Søndergård, 4 March 2026", "reproduced only in full", "relate only to the item",
		"Record at https://gauges.example/visit/"+w.visit.ID, "— End of certificate GW-2026-0007 —", w.input().Record)
	pages := strings.Count(got, "Certificate GW-2026-0007 · ")
	for i := 1; i <= pages; i++ {
		wants(t, got, fmt.Sprintf("page %d of %d", i, pages))
	}
	if pages < 2 || strings.Contains(got, fmt.Sprintf("page %d of", pages+1)) {
		t.Error("pages:", pages)
	}
}

func TestNoUncertaintyIsSaid(t *testing.T) {
	w := start(t, false, 6)
	w.approve()
	wants(t, text(t, w.pdf()), "No measurement uncertainty was evaluated", "rising 2.00 2.13 +0.13 ±0.100 – – fail")
}

func TestManyPoints(t *testing.T) {
	w := start(t, true, 41)
	w.approve()
	got := text(t, w.pdf())
	if n := strings.Count(got, "direction applied indicated error limit U k verdict"); n < 4 {
		t.Error("the table's head stands on every page of it:", n)
	}
	wants(t, got, "page 1 of ", "— End of certificate")
}

func TestSameBytes(t *testing.T) {
	w := start(t, true, 6)
	w.approve()
	a, b := w.pdf(), w.pdf()
	if !bytes.Equal(a, b) {
		t.Error("two writings differ")
	}
}

func TestCodeLeadsToTheRecord(t *testing.T) {
	tool(t, "pdftoppm", "poppler-utils")
	w := start(t, true, 6)
	w.approve()
	dir := t.TempDir()
	file := filepath.Join(dir, "c.pdf")
	if err := os.WriteFile(file, w.pdf(), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("pdftoppm", "-r", "150", "-f", "1", "-l", "1", "-png", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatal(err, string(out))
	}
	found, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil || len(found) != 1 {
		t.Fatal(found, err)
	}
	f, err := os.Open(found[0])
	if err != nil {
		t.Fatal(err)
	}
	img, _, err := image.Decode(f)
	if err := errors.Join(err, f.Close()); err != nil {
		t.Fatal(err)
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(
		bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true},
	)
	if err != nil {
		t.Fatal(err)
	}
	if want := certificates.Link(office.Base, w.visit.ID); got.GetText() != want {
		t.Error(got.GetText())
	}
}

func TestOneThatReplacesAnother(t *testing.T) {
	w := start(t, true, 6)
	w.approve()
	plain := text(t, w.pdf())
	if strings.Contains(plain, "Amendment") {
		t.Error("a first certificate is called an amendment")
	}
	in := w.input()
	in.Number, in.Replaces, in.Why, in.Change = "GW-2026-0008", "GW-2026-0007", "a digit was mistyped", "as found, rising 2 bar indicated: 2.31 is now 2.13 bar (typed wrong)"
	b, err := certificates.PDF(in)
	if err != nil {
		t.Fatal(err)
	}
	wants(t, text(t, b), "No. GW-2026-0008", "Amendment This certificate replaces No. GW-2026-0007, which is no longer valid.", "Reason a digit was mistyped",
		"What is different as found, rising 2 bar indicated: 2.31 is now 2.13 bar (typed wrong)", "— End of certificate GW-2026-0008 —")
	// The machine-readable form names the replaced one by its identifier if its record is known.
	in.Office.Country = "NL"
	named := func(record string) string {
		in.ReplacesRecord = record
		b, err := certificates.Machine(in)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	first := strings.Repeat("1f", 32)
	if got := named(first); !strings.Contains(got, "<dcc:replacedUniqueIdentifier>"+certificates.Identifier("GW-2026-0007", first)+"<") {
		t.Error("the replaced certificate is not named")
	}
	if got := named(""); strings.Contains(got, "replacedUniqueIdentifier") ||
		!strings.Contains(got, "Replaces No. GW-2026-0007") {
		t.Error("a certificate whose record is not known has an identifier")
	}
}

// TestAsLeftAlone: a test after a failure that an earlier visit found has no as-found run, and
// still gets its certificate on paper and for machines. Without that failure it gets none.
func TestAsLeftAlone(t *testing.T) {
	w := startRuns(t, true, 6, "as left")
	w.approve()
	_, err := certificates.Gather(w.store, w.visit.ID, office, "1", w.now)
	if !errors.Is(err, certificates.ErrNotReady) || !strings.Contains(err.Error(), "as-found") {
		t.Error("a visit without a failure before it:", err)
	}
	earlier := func(instrument, verdict string) string {
		v := w.keep(w.drafter.New(
			"visit", "", "", w.now, plant.Set{Field: "started", Value: "2026-02-11T08:00:00.000Z"},
			plant.Set{Field: "instrument", Value: instrument},
			plant.Set{Field: "method", Value: doc{"definition": doc{"kind": "gauge"}}},
		))
		w.keep(w.drafter.New(
			"run", "", v.ID, w.now, plant.Set{Field: "label", Value: "as found"},
			plant.Set{Field: "closed", Value: doc{"at": "2026-02-11T09:00:00.000Z"}},
			plant.Set{Field: "finding", Value: doc{"verdict": verdict, "complete": true}},
		))
		return v.ID
	}
	since := func(visit string) {
		w.visit = w.keep(
			w.drafter.Edit(w.visit, w.now, plant.Set{Field: "since", Value: doc{"visit": visit, "note": "pointer moved"}}),
		)
	}
	const here, there = "1nstrument", "0ther"
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "instrument", Value: here}))
	for what, visit := range map[string]string{
		"a visit that is not on record": "n0where", "another instrument's": earlier(there, "fail"), "one that passed": earlier(here, "pass"),
	} {
		since(visit)
		_, err := certificates.Gather(w.store, w.visit.ID, office, "1", w.now)
		if !errors.Is(err, certificates.ErrNotReady) || !strings.Contains(err.Error(), "found no failure") {
			t.Errorf("after %s: %v", what, err)
		}
	}
	since(earlier(here, "fail"))
	got := text(t, w.pdf())
	wants(t, got, "As left: pass", "As found: it failed in an earlier visit of 11 February 2026", "Results as left")
	if strings.Contains(got, "Results as found") {
		t.Error("it shows results as found")
	}
	in := w.input()
	in.Office.Country = "NL"
	b, err := certificates.Machine(in)
	if err != nil || !bytes.Contains(b, []byte("afterAdjustment")) || bytes.Contains(b, []byte("beforeAdjustment")) {
		t.Error("for machines:", err)
	}
	record, code, err := certificates.Record(in, b)
	if err != nil || code.Found != "" || code.Left != "pass" || bytes.Contains(record, []byte(`"as_found"`)) {
		t.Errorf("signed: %+v %v", code, err)
	}
}

func TestNotReady(t *testing.T) {
	w := start(t, true, 6)
	gather := func() error {
		_, err := certificates.Gather(w.store, w.visit.ID, office, "1", w.now)
		return err
	}
	if err := gather(); !errors.Is(err, certificates.ErrNotReady) ||
		!strings.Contains(err.Error(), "signed, not approved") {
		t.Error(err)
	}
	w.approve()
	if err := gather(); err != nil {
		t.Error(err)
	}
	seen := w.visit
	w.visit = w.keep(
		w.drafter.Edit(
			w.visit, w.now,
			plant.Set{Field: "check.k1", Value: doc{"ok": false, "calc": "1.0.0", "note": "worst fraction"}},
		),
	)
	if err := gather(); !errors.Is(err, certificates.ErrNotReady) || !strings.Contains(err.Error(), "worst fraction") {
		t.Error(err)
	}
	w.visit = w.keep(
		w.drafter.Edit(w.visit, w.now, plant.Set{Field: "check.k1", Value: doc{"ok": true, "calc": "1.0.0", "note": ""}}),
	)
	other := plant.Drafter{Device: "d2", Author: "a2", Random: rand.NewChaCha8([32]byte{4})}
	w.visit = w.keep(w.drafter.Edit(w.visit, w.now, plant.Set{Field: "condition", Value: doc{"ok": true, "note": "one"}}))
	w.keep(other.Edit(seen, w.now, plant.Set{Field: "condition", Value: doc{"ok": false, "note": "other"}}))
	if err := gather(); !errors.Is(err, certificates.ErrNotReady) || !strings.Contains(err.Error(), "condition") {
		t.Error(err)
	}
}

func TestNothingIsLeftBlank(t *testing.T) {
	w := start(t, true, 6)
	w.approve()
	for what, spoil := range map[string]func(*certificates.Input){
		"name": func(in *certificates.Input) { in.Office.Name = "" }, "address": func(in *certificates.Input) { in.Office.Address = nil },
		"customer": func(in *certificates.Input) { in.Office.Customer = nil }, "number": func(in *certificates.Input) { in.Number = "" },
		"who authorises": func(in *certificates.Input) { in.Approver.Name = "" }, "different": func(in *certificates.Input) { in.Replaces, in.Why = "GW-1", "x" },
		"why it replaces":  func(in *certificates.Input) { in.Replaces, in.Change = "GW-1", "x" },
		"server's address": func(in *certificates.Input) { in.Office.Base = "gauges" }, "fingerprint": func(in *certificates.Input) { in.Record = "ab" },
	} {
		in := w.input()
		spoil(&in)
		if _, err := certificates.PDF(in); !errors.Is(err, certificates.ErrIncomplete) ||
			!strings.Contains(err.Error(), what) {
			t.Error(what, err)
		}
	}
}

func TestFingerprint(t *testing.T) {
	w := start(t, true, 6)
	before := certificates.Fingerprint(w.visit, w.runs)
	w.approve()
	if got := certificates.Fingerprint(w.visit, []merge.State{w.runs[1], w.runs[0]}); got != before {
		t.Error("the approval or the order of the runs moved it")
	}
	w.runs[0] = w.keep(
		w.drafter.Edit(
			w.runs[0], w.now,
			plant.Set{
				Field: "capture.zz", Value: doc{"step": "s1.up.2", "of": "indicated", "value": "4.00", "unit": "bar"},
			},
		),
	)
	if got := certificates.Fingerprint(w.visit, w.runs); got == before {
		t.Error("another capture did not move it")
	}
}
