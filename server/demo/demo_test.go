package demo_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/certificates"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/store"

	"github.com/google/go-cmp/cmp"
)

var today = time.Date(2026, 9, 14, 13, 0, 0, 0, time.FixedZone("plant", 2*3600))

// simple replaces the calculations expand and evaluate, so that the inventing can be tested alone:
// quarters of the range, rising; as limit a class's or percentage's share of the span, 1 % for a
// grade.
func simple(name string, b []byte) []byte {
	var in struct {
		Instrument struct {
			Low, High float64 `json:",string"`
			Unit      string
			Limit     struct{ Class string }
		}
		Captures []struct{ Step, Of, Value string }
	}
	if err := json.Unmarshal(b, &in); err != nil {
		return document.ErrorDocument(err)
	}
	low, span := in.Instrument.Low, in.Instrument.High-in.Instrument.Low
	target := func(i int) float64 { return low + span*float64(i)/4 }
	var steps, readings []map[string]any
	percent, err := strconv.ParseFloat(in.Instrument.Limit.Class, 64)
	if err != nil {
		percent = 1
	}
	limit, worst := span*percent/100, 0.0
	for i := range 5 {
		id := fmt.Sprintf("s1.up.%d", i)
		to := strconv.FormatFloat(target(i), 'f', -1, 64)
		steps = append(
			steps, map[string]any{"id": id + ".set", "do": "set", "target": to},
			map[string]any{"id": id, "do": "read", "of": "indicated", "direction": "up", "target": to},
		)
		for _, c := range in.Captures {
			if x, err := strconv.ParseFloat(c.Value, 64); err == nil && c.Step == id {
				off := x - target(i)
				worst = max(worst, math.Abs(off)/limit)
				readings = append(
					readings,
					map[string]any{
						"step": id, "direction": "up", "point": to, "applied": target(i), "indicated": x,
						"error": off, "limit_low": -limit, "limit_high": limit,
					},
				)
			}
		}
	}
	var out any = map[string]any{"steps": steps, "screens": 5, "duration_s": 300}
	if name == "evaluate" {
		verdict := map[bool]string{true: "pass", false: "fail"}[worst <= 1]
		out = map[string]any{
			"verdict": verdict, "complete": len(readings) == 5, "readings": readings,
			"worst": map[string]any{"point": "0", "fraction": worst}, "calc": "none",
		}
	}
	reply, err := json.Marshal(out)
	if err != nil {
		return document.ErrorDocument(err)
	}
	return reply
}

func seed(t *testing.T, o demo.Options) (*store.Store, demo.Result) {
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
	begun := time.Now()
	r, err := demo.Seed(context.Background(), s, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d changes in %v", r.Changes, time.Since(begun))
	return s, r
}

func all[T any](t *testing.T, list []T, err error) []T {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// check examines an invented plant as a reviewer would.
func check(t *testing.T, s *store.Store, r demo.Result) {
	t.Helper()
	instruments, err := plant.All(s, "instrument", plant.ReadInstrument)
	instruments = all(t, instruments, err)
	tags, units, rules := map[string]bool{}, map[string]bool{}, map[string]bool{}
	kinds := map[string]int{}
	for _, i := range instruments {
		other := slices.Contains([]string{"SK-", "PT-", "PX-"}, i.Tag[:3])
		if kinds[i.Kind]++; i.Kind != "gauge" || other {
			continue
		}
		tags[i.Tag], units[i.Range.Unit], rules[i.Limit.Rule] = true, true, true
	}
	if len(tags) != 240 || len(units) != 4 || !rules["en837"] || !rules["b40.100"] {
		t.Error("instruments:", len(tags), units, rules)
	}
	standards, err := plant.All(s, "standard", plant.ReadStandard)
	expired := 0
	standards = slices.DeleteFunc(all(t, standards, err), func(x plant.Standard) bool {
		return slices.Contains([]string{"Air data set", "Test rack", "Loop meter", "Barometer of the workshop"}, x.Name)
	})
	for _, x := range standards {
		if x.Due < today.Format(time.DateOnly) {
			expired++
		}
	}
	if len(standards) != 6 || expired != 1 {
		t.Error("standards:", len(standards), "out of date:", expired)
	}
	people, err := plant.All(s, "person", plant.ReadPerson)
	var roles []string
	for _, p := range all(t, people, err) {
		roles = append(roles, p.Role)
	}
	slices.Sort(roles)
	if !cmp.Equal(roles, []string{"administrator", "reviewer", "technician", "technician"}) {
		t.Error(roles)
	}
	rounds, err := plant.All(s, "round", plant.ReadRound)
	for _, x := range all(t, rounds, err) {
		if x.Date != "2026-09-14" || len(x.Stops) < 8 || len(kinds) == 1 && len(x.Stops) > 8 {
			t.Error("round:", x.Date, len(x.Stops))
		}
	}
	if len(rounds) != 2 || rounds[0].Person == rounds[1].Person {
		t.Error("rounds:", rounds)
	}
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	visits = all(t, visits, err)
	for _, v := range visits {
		runs, err := plant.Runs(s, v.ID)
		runs = all(t, runs, err)
		unsigned, err := v.Unsigned(s, runs)
		unapproved, later := v.Unapproved(s, runs)
		if err := errors.Join(err, later); err != nil || len(unsigned)+len(unapproved) > 0 {
			t.Fatal("what was signed and approved is not all of it:", v.ID, unsigned, unapproved, err)
		}
	}
	count := map[plant.Status]int{}
	failed, years := 0, map[string]bool{}
	for _, v := range visits {
		count[v.Status]++
		years[v.Started[:4]] = true
		if v.Summary.AsFound == nil || kindOf(t, &v) == "gauge" && len(v.Summary.AsFound.Points) < 5 ||
			v.Summary.AsFound.WorstFraction == nil && !slices.Contains(
				[]string{"leak", "switch", "burst", "programme", "pitot-static-leak"}, kindOf(t, &v),
			) {
			t.Fatalf("visit %s has no summary: %+v", v.ID, v.Summary)
		}
		if v.Summary.AsFound.Verdict == "fail" {
			failed++
		}
		if (v.Summary.AsLeft != nil) != v.Adjusted.Done {
			t.Error("as left goes with an adjustment:", v.ID)
		}
		if len(v.Contested) > 0 || v.Started > "2026-09-14" {
			t.Error(v.ID, v.Contested, v.Started)
		}
	}
	if count[plant.Approved] < 1100 || count[plant.Signed] < 3 || count[plant.Open] > 0 || len(years) < 5 {
		t.Error(count, years)
	}
	if share := float64(failed) / float64(len(visits)); share < 0.01 || share > 0.15 || failed != r.Failed {
		t.Errorf("%d of %d found out of limits", failed, len(visits))
	}
}

func TestPlantIsBelievable(t *testing.T) {
	s, r := seed(t, demo.Options{Seed: 1, Today: today, Call: simple})
	check(t, s, r)
	// One change a run, one a visit and one for its approval, one a certificate; beside them the
	// people, sites, methods with their drafts, seven calibrations a standard, instruments and rounds.
	if want := r.Runs + 2*r.Visits - r.Waiting + r.Certificates + 4 + 3 + 2*4 + 6*7 + 240 + 2; r.Changes != want {
		t.Errorf("%d changes, want %d: %+v", r.Changes, want, r)
	}
	if _, err := demo.Seed(context.Background(), s, demo.Options{Seed: 1, Today: today, Call: simple}); !errors.Is(err, demo.ErrNotEmpty) {
		t.Error(err)
	}
}

func TestWithTheRealCalculations(t *testing.T) {
	for _, name := range []string{"expand", "evaluate"} {
		if !slices.ContainsFunc(calc.Calculations(), func(d document.Calculation) bool { return d.Name == name }) {
			t.Fatalf("this build has no calculation %s", name)
		}
	}
	s, r := seed(t, demo.Options{Seed: 1, Today: today})
	check(t, s, r)
	instruments, err := plant.All(s, "instrument", plant.ReadInstrument)
	kinds, of := map[string]int{}, map[string]string{}
	for _, i := range all(t, instruments, err) {
		kinds[i.Kind]++
		of[i.ID] = i.Kind
	}
	if kinds["leak"] != 2 || kinds["switch"] != 4 || kinds["burst"] != 2 {
		t.Error("systems, switches, lots:", kinds)
	}
	rounds, err := plant.All(s, "round", plant.ReadRound)
	stops := map[string]int{}
	for _, x := range all(t, rounds, err) {
		for _, stop := range x.Stops {
			stops[of[stop.Instrument]]++
		}
	}
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	judged := map[string]int{}
	for _, v := range all(t, visits, err) {
		if strings.HasPrefix(v.Item.Tag, "PT-") && v.Summary.AsFound.Verdict == "pass" {
			judged["transmitter"]++
		}
		if v.Item.Range.Mode == "absolute" && strings.HasPrefix(v.Item.Tag, "PX-") {
			if v.Barometer.ID == "" || v.Summary.AsFound.Verdict != "pass" {
				t.Errorf("%s: barometer %q, %s", v.Item.Tag, v.Barometer.ID, v.Summary.AsFound.Verdict)
			}
			judged["absolute"]++
		}
		if verdict := v.Summary.AsFound.Verdict; verdict == "pass" || verdict == "fail" {
			judged[v.Item.Kind]++
			if v.Item.Kind != "gauge" && len(v.Summary.AsFound.Results) == 0 {
				t.Errorf("visit %s of a %s has no results in its summary, so its history is empty", v.ID, v.Item.Kind)
			}
		}
	}
	if judged["transmitter"] < 4 {
		t.Errorf("%d visits of transmitters that passed, want two of each of two", judged["transmitter"])
	}
	if judged["absolute"] != 4 {
		t.Errorf("%d visits of absolute gauges, want two of each of two", judged["absolute"])
	}
	for _, kind := range []string{"leak", "switch", "burst"} {
		if stops[kind] == 0 || judged[kind] < 3 {
			t.Errorf("%s: %d stops today, %d visits that were decided", kind, stops[kind], judged[kind])
		}
	}
	for _, kind := range []string{"altimeter", "airspeed", "vertical-speed", "reporting-altitude", "pitot-static-leak"} {
		if kinds[kind] == 0 || judged[kind] < 2*kinds[kind] {
			t.Errorf("%s: %d instruments, %d visits that were decided", kind, kinds[kind], judged[kind])
		}
	}
	if stops["altimeter"] == 0 || stops["airspeed"] == 0 || stops["pitot-static-leak"] == 0 {
		t.Error("the hangar's stops of today:", stops)
	}
	served(t, s, "pitot-static-leak", "altimeter", "airspeed", "vertical-speed")
}

// served fails if the calculation choose, as on the phone, has an objection to every standard of
// the plant for an instrument of these kinds.
func served(t *testing.T, s *store.Store, kinds ...string) {
	t.Helper()
	instruments, err := plant.All(s, "instrument", plant.ReadInstrument)
	states, err2 := s.ByKind("standard", "", 1000)
	if err2 != nil {
		t.Fatal(err2)
	}
	list := []map[string]any{}
	for _, x := range states {
		one, err := plant.ReadStandard(x)
		if err != nil {
			t.Fatal(err)
		}
		ranges, _ := x.Value("ranges")
		list = append(list, map[string]any{"id": one.ID, "name": one.Name, "status": one.Status, "due": one.Due,
			"calibrated": one.Calibrated, "ranges": json.RawMessage(ranges)})
	}
	for _, i := range all(t, instruments, err) {
		if !slices.Contains(kinds, i.Kind) {
			continue
		}
		method, _, err := s.Record(i.Method)
		if err != nil {
			t.Fatal(err)
		}
		definition, _ := method.Value("definition")
		state, _, err := s.Record(i.ID)
		if err != nil {
			t.Fatal(err)
		}
		parts, _ := state.Value("particulars")
		doc, err := json.Marshal(map[string]any{"today": today.Format(time.DateOnly), "method": json.RawMessage(definition), "standards": list,
			"instrument": map[string]any{"low": i.Range.Low, "high": i.Range.High, "unit": i.Range.Unit, "mode": i.Range.Mode,
				"resolution": i.Resolution, "particulars": json.RawMessage(parts)}})
		if err != nil {
			t.Fatal(err)
		}
		var said struct{ List []struct{ Objections []any } }
		reply := calc.Call("choose", doc)
		if err := json.Unmarshal(reply, &said); err != nil || len(said.List) == 0 || len(said.List[0].Objections) > 0 {
			t.Errorf("%s: no standard serves it: %.300s", i.Tag, reply)
		}
	}
}

// TestProgrammesArePublishedAndSound checks that each of the plant's own programmes has no fault on
// a gauge of 10 bar, except those about unknown data of the gauge.
func TestProgrammesArePublishedAndSound(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today})
	methods, err := plant.All(s, "method", plant.ReadMethod)
	n := 0
	for _, m := range all(t, methods, err) {
		if m.Kind != "programme" {
			continue
		}
		n++
		b, err := json.Marshal(
			map[string]any{
				"method":     m.Definition,
				"instrument": map[string]any{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"},
			},
		)
		if err != nil {
			t.Fatal(err)
		}
		var out struct {
			Error *struct{ Message string }
			Steps []json.RawMessage
		}
		if err := json.Unmarshal(calc.Call("expand", b), &out); err != nil || out.Error != nil || len(out.Steps) < 7 {
			t.Errorf("%s: %v, %+v, %d steps", m.Name, err, out.Error, len(out.Steps))
		}
	}
	if n != 2 {
		t.Errorf("%d programmes are published", n)
	}
}

// kindOf is the kind of work of a visit: a programme may test a gauge.
func kindOf(t *testing.T, v *plant.Visit) string {
	t.Helper()
	var method struct{ Kind string }
	if err := json.Unmarshal(v.Method.Definition, &method); err != nil {
		t.Fatal(err)
	}
	return method.Kind
}

// TestProgrammesHaveAPast checks that each of the plant's own programmes has two complete runs with
// a verdict, a year apart.
func TestProgrammesHaveAPast(t *testing.T) {
	s, _ := seed(t, demo.Options{Seed: 1, Today: today})
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	runs := map[string]int{}
	for _, v := range all(t, visits, err) {
		if kindOf(t, &v) != "programme" {
			continue
		}
		list, err := plant.Runs(s, v.ID)
		if err != nil || len(list) != 1 || v.Status != plant.Approved {
			t.Fatalf("%+v, %d runs, %v", v.Status, len(list), err)
		}
		var finding struct {
			Verdict   string
			Missing   []string
			Programme struct {
				Ended bool
				Reads []struct{ Name, Verdict string }
			}
		}
		if err := json.Unmarshal(list[0].Finding.Raw, &finding); err != nil {
			t.Fatal(err)
		}
		if finding.Verdict != "pass" || len(finding.Missing) > 0 || !finding.Programme.Ended ||
			len(finding.Programme.Reads) < 2 {
			t.Errorf("%s: %+v", v.Method.Name, finding)
		}
		runs[v.Method.Name]++
	}
	if len(runs) != 2 || runs["Held for a minute"] != 2 || runs["Rest at three and six bar"] != 2 {
		t.Errorf("%v", runs)
	}
}

// TestEveryRoundBeginsWithAnOrdinaryGauge checks that it starts at zero and has six points rising
// and falling, whatever the day.
func TestEveryRoundBeginsWithAnOrdinaryGauge(t *testing.T) {
	for day := range 12 {
		s, _ := seed(t, demo.Options{Seed: 1, Today: today.AddDate(0, 0, day), Years: 1, Call: simple})
		rounds, err := plant.All(s, "round", plant.ReadRound)
		for _, r := range all(t, rounds, err) {
			first, err := plant.All(s, "instrument", plant.ReadInstrument)
			for _, i := range all(t, first, err) {
				if i.ID == r.Stops[0].Instrument && i.Range.Low != "0" {
					t.Errorf("day %d: %s begins at %s", day, i.Tag, i.Range.Low)
				}
			}
		}
	}
}

// TestNewestVisitsHaveTheirCertificates compares every certificate with the record that it states.
func TestNewestVisitsHaveTheirCertificates(t *testing.T) {
	s, r := seed(t, demo.Options{Seed: 1, Today: today, Instruments: 15, Years: 2, Base: "http://localhost:8080"})
	visits, err := plant.All(s, "visit", plant.ReadVisit)
	newest := map[string]string{} // by instrument: the last approval
	for _, v := range all(t, visits, err) {
		if v.Status == plant.Approved {
			newest[v.Instrument] = max(newest[v.Instrument], v.Approval.At)
		}
	}
	papers, err := plant.All(s, "certificate", plant.ReadCertificate)
	numbers := map[string]bool{}
	for i, c := range all(t, papers, err) {
		v, err := plant.LoadVisit(s, c.Parent)
		if err != nil || v.Status != plant.Approved || c.Issued != newest[v.Instrument] || c.By != v.Approval.By ||
			numbers[c.Number] {
			t.Errorf("%+v: %+v %v", c, v.Approval, err)
		}
		numbers[c.Number] = true
		at, err := time.Parse(time.RFC3339, c.Issued)
		if err != nil || c.Letterhead == nil || c.Letterhead.Base != "http://localhost:8080" || c.PDF != "" {
			t.Fatalf("%+v %v", c, err)
		}
		office := certificates.Office{
			Name: c.Letterhead.Name, Address: c.Letterhead.Address, Customer: c.Letterhead.Customer,
			Country: c.Letterhead.Country, Base: c.Letterhead.Base,
		}
		in, err := certificates.Gather(s, v.ID, office, c.Number, at)
		if err != nil || in.Record != c.Fingerprint {
			t.Error("the record is not the one that was certified:", err)
		}
		if i > 0 {
			continue
		}
		if pdf, err := certificates.PDF(in); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
			t.Error(err)
		}
	}
	if len(papers) != len(newest) || len(papers) != r.Certificates || len(papers) < 15 {
		t.Errorf("%d certificates of %d instruments, %d told", len(papers), len(newest), r.Certificates)
	}
}

func TestSameSeedSameBytes(t *testing.T) {
	o := demo.Options{Seed: 5, Today: today, Instruments: 12, Call: simple}
	write := func(o demo.Options) (b []byte) {
		list, _, err := demo.Invent(o)
		if err != nil {
			t.Fatal(err)
		}
		for i := range list {
			b = append(append(b, list[i].Bytes()...), '\n')
		}
		return b
	}
	first := write(o)
	if string(first) != string(write(o)) {
		t.Error("the same seed gave other bytes")
	}
	o.Seed = 6
	if string(first) == string(write(o)) {
		t.Error("another seed gave the same bytes")
	}
	o.Seed, o.Today = 5, today.AddDate(0, 0, 1)
	if string(first) == string(write(o)) {
		t.Error("another day gave the same bytes")
	}
}

func TestARoomsRefusalIsPassedOn(t *testing.T) {
	_, _, err := demo.Invent(demo.Options{Seed: 1, Today: today, Instruments: 3, Call: func(string, []byte) []byte {
		return document.ErrorDocument(document.Refuse(document.CodeRange, "method", "not like this"))
	}})
	if err == nil || !strings.Contains(err.Error(), "not like this") || !strings.Contains(err.Error(), "PI-") {
		t.Error(err)
	}
}

// TestMethodsAreApproved: each method was put into force by another person than whoever wrote it, as
// the office itself asks of one.
func TestMethodsAreApproved(t *testing.T) {
	list, r, err := demo.Invent(demo.Options{Seed: 1, Today: today, Instruments: 12, Years: 1})
	if err != nil {
		t.Fatal(err)
	}
	roles := map[string]string{}
	for _, who := range r.People {
		roles[who.ID] = who.Role
	}
	drafts, versions := map[string]string{}, 0
	for i := range list {
		c := &list[i]
		if c.Kind != "method" {
			continue
		}
		if !plant.PutsInForce(c) {
			drafts[c.ID] = c.Author
			continue
		}
		versions++
		if err := plant.ApprovedMethod(c, false); err != nil {
			t.Errorf("%s: %v", c.Record, err)
		}
		for _, x := range c.Set {
			var a plant.MethodApproval
			if !strings.HasPrefix(x.Field, "approval.") {
				continue
			}
			if err := json.Unmarshal(x.Value, &a); err != nil || drafts[a.Of] != a.By || roles[a.By] != "administrator" ||
				roles[c.Author] != "reviewer" {
				t.Errorf("%s: %+v by %s: %v", c.Record, a, roles[c.Author], err)
			}
		}
	}
	if versions < 10 {
		t.Errorf("%d methods", versions)
	}
}
