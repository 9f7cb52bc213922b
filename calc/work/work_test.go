package work_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
	"gaugewright/calc/work"
)

// written returns what a function writes into an object.
func written(write func(out *document.Writer)) string {
	out := document.NewWriter(nil)
	out.Begin()
	write(out)
	out.End()
	return string(out.Bytes())
}

// Four significant digits, plain where that is short. The typography of a power of ten is that of
// the SI Brochure, 9th edition, section 5.4.
func TestNumberText(t *testing.T) {
	for x, want := range map[float64]string{
		0: "0", 12: "12", 1.23456: "1.235", -0.5: "-0.5", 1.2e-5: "1.2 × 10⁻⁵", 3.45678e12: "3.457 × 10¹²", 101325: "101300",
	} {
		if got := work.Figure(x); got != want {
			t.Errorf("Figure(%g) = %q, want %q", x, got, want)
		}
	}
	if got := work.PlainFigure(1.2e-5); strings.Contains(got, "×") {
		t.Errorf("PlainFigure(1.2e-5) = %q, which no reader takes for a number", got)
	}
	for x, want := range map[float64]string{18000: "18000", 0.0625: "0.063", -1000: "-1000", 2.5: "2.5"} {
		if got := work.Shortly(x); got != want {
			t.Errorf("Shortly(%g) = %q, want %q", x, got, want)
		}
	}
	if got := work.PressureText(1.23456789); got != "1.23457" {
		t.Errorf("PressureText(1.23456789) = %q, want six digits", got)
	}
}

// step holds the fields of a written step that the tests check.
type step struct{ do, move, mode, title string }

// laid writes steps into a plan and reads them back.
func laid(t *testing.T, at work.Standing, steps ...work.Step) []step {
	t.Helper()
	text := written(func(out *document.Writer) {
		p := &work.Plan{Out: out, At: at, Screen: 1}
		out.BeginList("steps")
		for _, s := range steps {
			p.Step(s)
		}
		out.EndList()
	})
	var list []step
	for _, r := range calctest.Open(t, text).List("steps") {
		list = append(list, step{r.Text("do"), r.TextOr("move", ""), r.TextOr("mode", ""), r.TextOr("title", "")})
	}
	return list
}

func TestPlanSaysTheWay(t *testing.T) {
	bar := func(do, target string) work.Step {
		return work.Step{ID: "s", Do: do, Target: target, Unit: "bar"}
	}
	got := laid(t, work.Standing{Mode: "gauge", Own: "bar"},
		bar("set", "2"), work.Step{ID: "v", Do: "vent"}, bar("set", "2"), bar("set", "2.0"), bar("set", "1.5"), bar("ramp", "3"), bar("set", "3"),
		work.Step{ID: "d1", Do: "read", Unit: "bar", Figures: &work.Figures{CycleOf: "disc"}})
	want := []step{
		{"set", "", "gauge", ""}, // the pressure before it is not known
		{"vent", "", "", ""},
		{"set", "raise", "gauge", ""},
		{"set", "stay", "gauge", ""},
		{"set", "lower", "gauge", ""},
		{"ramp", "raise", "gauge", ""},
		{"set", "", "gauge", ""}, // a ramp ends where the awaited event occurs
		{"read", "", "", "Burst pressure"},
	}
	for i := range want {
		if i >= len(got) || got[i] != want[i] {
			t.Errorf("step %d: %+v, want %+v", i, got[min(i, len(got)-1)], want[i])
		}
	}
}

// Figures shared by steps are not modified: each step has its own move.
func TestStepsShareFigures(t *testing.T) {
	shared := &work.Figures{Low: "0.9", High: "1.1"}
	laid(
		t, work.Standing{Mode: "gauge", Own: "bar"}, work.Step{ID: "v", Do: "vent"},
		work.Step{ID: "a", Do: "set", Target: "1", Unit: "bar", Figures: shared},
	)
	if *shared != (work.Figures{Low: "0.9", High: "1.1"}) {
		t.Errorf("the shared figures became %+v", *shared)
	}
}

func TestDemandIsTheLeastLimit(t *testing.T) {
	d := &work.Demand{}
	for _, off := range []string{"5", "2", "4"} {
		limit := map[string]float64{"5": 5, "2": 2, "4": 4}[off]
		d.Take(&work.Step{Do: "read", Figures: &work.Figures{About: 10, Off: limit}})
	}
	d.Take(&work.Step{Do: "note", Figures: &work.Figures{About: 99, Off: 1}})
	if len(d.Points) != 1 || d.Points[0] != (work.Demanded{At: 10, Limit: 2}) || d.Low != 10 || d.High != 10 {
		t.Errorf("%+v", *d)
	}
}

const instrument = `"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge","resolution":"0.01"},"method":{"kind":"leak"}`

// run reads the sheet of a layout with one typed value, one value that a record may give and one
// answer.
func run(t *testing.T, captures string) (*work.Layout, work.Sheet, error) {
	t.Helper()
	in := calctest.Open(t, `{`+instrument+`,`+captures+`}`)
	w := work.NewLayout(in, nil)
	w.Step(work.Step{ID: "ready", Do: "ask", As: "yes", Text: "Safe?", MakeSafe: "Vent."}, 0)
	w.Step(work.Step{ID: "p1", Do: "read", Of: "applied", Unit: "bar"}, 0)
	w.Step(work.Step{ID: "p2", Do: "read", Of: "indicated", Unit: "bar", Many: true, Trace: true}, 0)
	w.StepBy(work.Step{ID: "p2.t0", Do: "ask", As: "number"}, 0, "p2", 't')
	s := w.ReadSheet()
	return w, s, in.Err()
}

// A pressure typed in another unit is converted without rounding: 1 bar = 100 kPa (SI Brochure, 9th
// edition, table 8 and section 4).
func TestCaptures(t *testing.T) {
	w, s, err := run(t, `"captures":[{"step":"ready","of":"answer","value":"yes"},{"step":"p1","of":"applied","value":"512.3","unit":"kPa"},
		{"step":"p2","of":"indicated","value":"1.00","unit":"bar"},{"step":"p2","of":"indicated","value":"0.99","unit":"bar"},{"step":"p9","of":"applied","value":"1","unit":"bar"}]`)
	if err != nil {
		t.Fatal(err)
	}
	if v, ok := s.One("p1", "applied"); !ok || v.X != 5.123 || v.Text != "512.3" {
		t.Errorf("512.3 kPa became %+v", v)
	}
	if v, ok := s.One("p2", "indicated"); !ok || v.X != 0.99 {
		t.Errorf("the last of several readings is %+v", v)
	}
	if missing := strings.Join(w.Missing(&s), " "); missing != "p2.t0" {
		t.Errorf("missing: %q", missing)
	}
	if len(w.Stops.List) != 0 || !warned(w, "unknown_step") {
		t.Errorf("stops %v, warnings %v", w.Stops.List, w.Warnings)
	}
	if _, ok := s.Number("ready"); ok {
		t.Error("yes is taken for a number")
	}
}

func warned(w *work.Layout, code string) bool {
	for _, one := range w.Warnings {
		if one.Code == code {
			return true
		}
	}
	return false
}

// A record replaces the readings, and the values in its columns.
func TestTraceStandsForValues(t *testing.T) {
	w, s, err := run(t, `"captures":[],"traces":[{"step":"p2","unit":"kPa","t_s":[0,1,2],"p":[500,499,498],"temperature_c":[20,20,20]}]`)
	if err != nil {
		t.Fatal(err)
	}
	if tr := s.Traces["p2"]; tr == nil || len(tr.P) != 3 || tr.P[0] != 5 {
		t.Errorf("%+v", s.Traces["p2"])
	}
	if missing := strings.Join(w.Missing(&s), " "); missing != "ready p1" {
		t.Errorf("missing: %q", missing)
	}
}

func TestSheetRefuses(t *testing.T) {
	for captures, want := range map[string]string{
		`"captures":[{"step":"p1","of":"applied","value":"1","unit":"bar"},{"step":"p1","of":"applied","value":"2","unit":"bar"}]`: "captures[1].step",
		`"captures":[{"step":"p1","of":"applied","value":"1","unit":"kg"}]`:                                                        "captures[0].unit",
		`"captures":[{"step":"ready","of":"answer"}]`:                                                                              "captures[0].value",
		`"captures":[],"traces":[{"step":"p2","unit":"bar","t_s":[0,0],"p":[1,1]}]`:                                                "traces[0].t_s[1]",
		`"captures":[],"traces":[{"step":"p2","unit":"bar","t_s":[0,1],"p":[1]}]`:                                                  "traces[0].p",
	} {
		_, _, err := run(t, captures)
		if err == nil || document.AsFault(err).Field != want {
			t.Errorf("%s: %v, want a fault of %s", captures, err, want)
		}
	}
}

func TestStopsKeepOpen(t *testing.T) {
	w, _, err := run(t, `"captures":[{"step":"ready","of":"answer","value":"no"}],"before":{"condition":"damaged"},"surroundings":{"temperature_c":"190"}`)
	if err != nil {
		t.Fatal(err)
	}
	var codes []string
	for _, s := range w.Stops.List {
		codes = append(codes, s.Code)
	}
	if got := strings.Join(codes, " "); got != "damaged no_place safety_no" {
		t.Errorf("stops: %s", got)
	}
	if v, reason := w.Stops.Verdict("pass", ""); v != "undecided" || reason != w.Stops.List[0].Message {
		t.Errorf("pass became %s, %s", v, reason)
	}
	if v, reason := w.Stops.Verdict("fail", "too far"); v != "fail" || reason != "too far" {
		t.Errorf("fail became %s, %s: what was found outside stays found", v, reason)
	}
}

func TestOpenReason(t *testing.T) {
	for _, tt := range []struct {
		missing int
		closed  bool
		want    string
	}{{2, true, "2 values are missing"}, {0, false, "the run is not closed"}, {0, true, ""}} {
		if got := work.OpenReason(tt.missing, tt.closed, "values"); got != tt.want {
			t.Errorf("%d missing, closed %t: %q, want %q", tt.missing, tt.closed, got, tt.want)
		}
	}
}

// U = 2·√(u² + (0.01/2)²/3): a standard of u = 0.004 bar and a scale of 0.01 bar, GUM (JCGM
// 100:2008) 4.3.7 and 5.1.2 with k = 2 (6.3.3). 2·√(0.004² + 0.005²/3) = 0.009865766.
func TestWeigh(t *testing.T) {
	for _, tt := range []struct {
		decision, value, want string
		high                  float64
	}{
		{`{"rule":"simple"}`, "1.005", "pass", 1.01},
		{`{"rule":"guarded"}`, "1.005", "fail", 1.01}, // above the acceptance limit: ILAC-G8:09/2019, 4.2.2
		{`{"rule":"guarded"}`, "1", "pass", 1.01},
		{`{"rule":"simple"}`, "1.02", "fail", 1.01},
	} {
		in := calctest.Open(t, `{"instrument":{"low":"0","high":"10","unit":"bar","mode":"gauge"},"method":{"kind":"burst","decision":`+tt.decision+
			`},"standard":{"u":"0.004"},"captures":[{"step":"p","of":"applied","value":"`+tt.value+`","unit":"bar"}]}`)
		w := work.NewLayout(in, nil)
		w.Step(work.Step{ID: "p", Do: "read", Of: "applied", Unit: "bar"}, 0)
		s := w.ReadSheet()
		if err := in.Err(); err != nil {
			t.Fatal(err)
		}
		v, _ := s.One("p", "applied")
		a := w.AmountOf(v.X, v.Typed, 0.01, 0)
		got := w.Weigh(&a, work.Limits{High: tt.high, HasHigh: true}, "too high")
		if math.Abs(got.Expanded-0.009865766) > 5e-10 || got.K != 2 {
			t.Errorf("U = %.9f, k = %g", got.Expanded, got.K)
		}
		if got.Verdict != tt.want {
			t.Errorf("%s at %s: %s, want %s", tt.decision, tt.value, got.Verdict, tt.want)
		}
	}
}

// The difference of two readings: the terms of the level and of the temperature are the same in
// both.
func TestApart(t *testing.T) {
	in := calctest.Open(t, `{`+instrument+`,"standard":{"u":"0.003"},"captures":[]}`)
	w := work.NewLayout(in, nil)
	w.ReadSheet()
	a, b := w.AmountOf(5, 5, 0, 0), w.AmountOf(4.8, 4.8, 0, 0)
	d := work.Apart(&a, &b)
	if math.Abs(d.Value-0.2) > 1e-12 || len(d.Terms) != 1 || math.Abs(d.Terms[0].U-0.003*math.Sqrt2) > 1e-15 {
		t.Errorf("%+v", d)
	}
}

func TestThinned(t *testing.T) {
	for _, tt := range []struct{ n, most int }{{0, 5}, {1, 5}, {5, 5}, {6, 5}, {1000, 200}} {
		list := work.Thinned(tt.n, tt.most)
		if len(list) > tt.most || tt.n > 0 && (list[0] != 0 || list[len(list)-1] != tt.n-1) {
			t.Errorf("%d samples thinned to %d: %v", tt.n, tt.most, list)
		}
	}
}

// The air of a place: ISO 2533 gives 794.95 hPa at 2000 m (table 5); 29.92 inHg is 1013.2 hPa.
func TestPressureOfNoPlace(t *testing.T) {
	for _, tt := range []struct {
		hpa, height float64
		known       bool
		want        string
	}{
		{1013, 0, false, ""}, {794.95, 2000, true, ""}, {1013, 2000, true, "at 2000 m"}, {29.92, 0, false, "inHg"}, {400, 0, false, "from 500 to 1100 hPa"},
	} {
		got := work.NoPressure(tt.hpa, tt.height, tt.known)
		if (tt.want == "") != (got == "") || !strings.Contains(got, tt.want) {
			t.Errorf("%g hPa at %g m: %q, want %q", tt.hpa, tt.height, got, tt.want)
		}
	}
}

func TestKindsOf(t *testing.T) {
	nothing := func(*document.Reader, *work.Plan) error { return nil }
	kinds := work.Kinds{{Name: "one", Expand: nothing}, {Name: "two", Expand: nothing}}
	if k := kinds.Of(calctest.Open(t, `{"method":{"kind":"two"}}`)); k.Name != "two" {
		t.Errorf("found %s", k.Name)
	}
	in := calctest.Open(t, `{"method":{"kind":"three"}}`)
	kinds.Of(in)
	if err := in.Err(); err == nil || document.AsFault(err).Field != "method.kind" {
		t.Errorf("a kind that is not there: %v", err)
	}
	got := written(func(out *document.Writer) {
		if err := kinds.ExpandMethod(calctest.Open(t, `{"method":{"kind":"one"}}`), out); err != nil {
			t.Fatal(err)
		}
	})
	if got != `{"steps":[],"screens":1,"duration_s":0}` {
		t.Error(got)
	}
}
