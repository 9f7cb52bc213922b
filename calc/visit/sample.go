package visit

import (
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of a visit's rules.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "visit", Make: visitSample}, {Calculation: "visits", Make: visitsSample},
		{Calculation: "past", Make: pastSample}, {Calculation: "kin", Make: kinSample},
		{Calculation: "item", Make: itemSample}, {Calculation: "kept", Make: keptSample},
		{Calculation: "begun", Make: begunSample}, {Calculation: "facts", Make: factsSample},
		{Calculation: "corrections", Make: correctionsSample},
		{Calculation: "together", Make: togetherSample}, {Calculation: "manifold", Make: manifoldSample},
	}
}

// sampler writes records whose changes are numbered.
type sampler struct {
	draws   document.Draws
	w       *document.Writer
	changes int
}

func newSampler(seed uint64) *sampler {
	return &sampler{draws: document.Draws(seed), w: document.NewWriter(nil)}
}

func (s *sampler) begin(name, id, kind string) {
	if name == "" {
		s.w.Begin()
	} else {
		s.w.BeginObject(name)
	}
	s.w.Text("id", id)
	s.w.Text("kind", kind)
	s.w.BeginObject("fields")
}

func (s *sampler) end() {
	s.w.End()
	s.w.End()
}

// field writes a field; some have been written twice.
func (s *sampler) field(name, value string) {
	s.changes++
	stamp := strconv.Itoa(100000 + s.changes)
	s.w.BeginObject(name)
	s.w.BeginList("heads")
	s.w.Begin()
	s.w.Text("change", "c"+stamp)
	s.w.Raw("value", []byte(value))
	s.w.Text("author", "u1")
	s.w.Text("stamp", stamp)
	s.w.End()
	s.w.EndList()
	s.w.BeginList("replaced")
	if s.draws.Below(4) == 0 {
		s.w.TextItem("o" + stamp)
	}
	s.w.EndList()
	s.w.End()
}

// maybe writes a field of a visit that may be missing.
func (s *sampler) maybe(name string, values ...string) {
	if s.draws.Below(6) > 0 {
		s.field(name, values[s.draws.Below(len(values))])
	}
}

func (s *sampler) visit(name, id string) {
	s.begin(name, id, "visit")
	s.field("method", `{"definition":{"kind":"`+[]string{"gauge", "leak", "switch"}[s.draws.Below(3)]+`"}}`)
	s.field("item", `{"tag":"PI-1","range":{"low":"0","high":"10","unit":"bar","mode":"gauge"},"resolution":"0.05"}`)
	s.maybe("cautions", `{"met":true}`, `{"met":true}`, `{"met":true}`, `{"met":false}`)
	s.maybe("identity", `{"ok":true}`, `{"ok":true}`, `{"ok":false,"way":"wrong"}`)
	s.maybe("service", `{"oxygen":"yes"}`, `{"oxygen":"no"}`, `{"air":"yes"}`, `{"oxygen":"yes","air":"no"}`)
	s.maybe("condition", `{"ok":true,"state":"good"}`, `{"ok":true}`, `{"ok":false,"state":"damaged"}`)
	s.maybe(
		"standard", `{"range":{"low":"0","high":"20","of_span_percent":"0.05","k":"2"}}`,
		`{"range":{"low":"0","high":"20"}}`,
	)
	s.maybe(
		"meter", `{"range":{"low":"0","high":"24","of_reading_percent":"0.02"}}`, `{"range":{"low":"0","high":"24"}}`,
	)
	s.maybe("surroundings", `{"temperature_c":"21"}`)
	s.maybe("adjusted", `{"done":true}`, `{"done":false}`)
	if s.draws.Below(6) == 0 {
		s.field("since", `{"visit":"v0"}`)
	}
	if s.draws.Below(2) == 0 {
		s.field("signature", `{"covers":[]}`)
		signed := strconv.Itoa(100000 + s.changes)
		s.maybe(
			"returned.a", `{"of":["c`+signed+`"],"remark":"again"}`, `"as of old"`, `{"of":["c1"],"remark":"earlier"}`,
		)
		if s.draws.Below(2) == 0 {
			s.field("approval", `{"covers":[]}`)
			s.maybe(
				"reopened.b",
				`{"of":["c`+strconv.Itoa(100000+s.changes)+`"],"signed":["c`+signed+`"],"reason":"a slip"}`,
				`{"of":["c1"],"reason":"earlier"}`,
			)
		}
	}
	s.end()
}

func (s *sampler) run(id, label string) {
	s.begin("", id, "run")
	s.field("label", `"`+label+`"`)
	s.field("plan", []string{`{"bypasses":true}`, `null`}[s.draws.Below(2)])
	for i := range 1 + s.draws.Below(4) {
		old := ""
		if i > 0 && s.draws.Below(3) == 0 {
			old = `,"supersedes":"k` + strconv.Itoa(i-1) + `","reason":"mistyped"`
		}
		s.field(
			"capture.k"+strconv.Itoa(i),
			`{"step":"s1.up.`+strconv.Itoa(i)+`","of":"indicated","value":"`+strconv.Itoa(i)+`.5","unit":"bar"`+old+`}`,
		)
	}
	if s.draws.Below(4) > 0 {
		s.field("finding", `{"verdict":"pass","complete":`+[]string{"true", "true", "false"}[s.draws.Below(3)]+
			`,"worst":{"fraction":0.4},"readings":[{"point":5,"direction":"up","error":0.02,"limit_high":0.16}]}`)
		s.field("closed", `{"at":"2026-03-04T08:30:00.000Z"}`)
	}
	s.end()
}

func visitSample(seed uint64) []byte {
	s := newSampler(seed)
	s.w.Begin()
	s.visit("visit", "v1")
	s.w.BeginList("runs")
	for i := range s.draws.Below(4) {
		s.run("r"+strconv.Itoa(i), []string{AsFound, "repeat", AsLeft}[min(i, s.draws.Below(3))])
	}
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

// samplePlan is a short plan of a gauge.
const samplePlan = `[{"id":"v","do":"vent","screen":1},{"id":"a.set","do":"set","screen":2,"target":"4","unit":"bar"},` +
	`{"id":"a","do":"read","screen":2,"of":"indicated","target":"4","unit":"bar"},{"id":"e","do":"vent","screen":3}]`

// manifoldSample is the visits of a manifold, some of them in a run.
func manifoldSample(seed uint64) []byte {
	s := newSampler(seed)
	s.w.Begin()
	s.w.BeginList("visits")
	for i := range s.draws.Below(4) {
		n := strconv.Itoa(i)
		s.w.Begin()
		if s.draws.Below(4) == 0 {
			s.visit("visit", "v"+n)
		} else {
			s.begin("visit", "v"+n, "visit")
			s.field("cautions", `{"met":true}`)
			s.end()
		}
		s.w.BeginList("runs")
		if s.draws.Below(5) > 0 {
			s.begin("", "r"+n, "run")
			s.field("label", `"as found"`)
			s.field("plan", `{"steps":`+samplePlan+`}`)
			for _, id := range []string{"v", "a.set"}[:s.draws.Below(3)] {
				s.field("done."+id, `{"at":"2026-03-04T08:30:00.000Z"}`)
			}
			if s.draws.Below(2) == 0 {
				s.field("capture.k", `{"step":"a","of":"indicated","value":"4.0","unit":"bar"}`)
			}
			s.end()
		}
		s.w.EndList()
		s.w.End()
	}
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

// togetherSample is gauges for one manifold, some of which do not suit it.
func togetherSample(seed uint64) []byte {
	s := newSampler(seed)
	s.w.Begin()
	s.w.BeginList("instruments")
	for i := range s.draws.Below(MostTogether + 2) {
		s.w.Begin()
		s.w.Text("id", "i"+strconv.Itoa(i))
		s.w.Text("kind", []string{"gauge", "gauge", "gauge", "leak"}[s.draws.Below(4)])
		s.w.Text("mode", []string{"gauge", "gauge", "absolute"}[s.draws.Below(3)])
		s.w.Text("high", []string{"4", "10", "400"}[s.draws.Below(3)])
		s.w.Text("unit", []string{"bar", "kPa"}[s.draws.Below(2)])
		s.w.Text("medium", []string{"air", "oxygen"}[s.draws.Below(2)])
		s.w.Flag("begun", s.draws.Below(4) == 0)
		s.w.Flag("since", s.draws.Below(4) == 0)
		s.w.Raw("steps", []byte(samplePlan))
		s.w.End()
	}
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

// begunSample is a visit with a run of a few steps, of which the first ones have a mark.
func begunSample(seed uint64) []byte {
	s := newSampler(seed)
	s.w.Begin()
	s.begin("visit", "v1", "visit")
	s.field("cautions", `{"met":true}`)
	s.end()
	s.w.BeginList("runs")
	s.begin("", "r1", "run")
	s.field("label", `"as found"`)
	s.field("plan", `{"steps":[{"id":"a","do":"vent","screen":1},{"id":"b","do":"set","screen":2,"target":"4","unit":"bar"},`+
		`{"id":"c","do":"read","screen":2},{"id":"d","do":"vent","screen":3}],"screens":3}`)
	for _, id := range []string{"a", "b", "c", "d"}[:s.draws.Below(5)] {
		if id == "c" {
			s.field("capture.k", `{"step":"c","of":"indicated","value":"4.0","unit":"bar"}`)
		} else {
			s.field("done."+id, `{"at":"2026-03-04T08:30:00.000Z"}`)
		}
	}
	if s.draws.Below(5) == 0 {
		s.field("closed", `{"at":"2026-03-04T08:40:00.000Z"}`)
	}
	s.end()
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

func visitsSample(seed uint64) []byte {
	s := newSampler(seed)
	s.w.Begin()
	s.w.BeginList("visits")
	for i := range s.draws.Below(4) {
		s.visit("", "v"+strconv.Itoa(i))
	}
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

func pastSample(seed uint64) []byte {
	s := newSampler(seed)
	s.w.Begin()
	s.w.BeginList("visits")
	for n := range 1 + s.draws.Below(5) {
		s.w.Begin()
		s.w.Text("id", "v"+strconv.Itoa(n))
		s.w.Flag("signed", s.draws.Below(4) > 0)
		s.w.Text(
			"started", "202"+strconv.Itoa(s.draws.Below(7))+"-05-0"+strconv.Itoa(1+s.draws.Below(9))+"T08:00:00.000Z",
		)
		s.w.Flag("adjusted", s.draws.Below(3) == 0)
		s.w.BeginObject("summary")
		for _, name := range []string{"as_found", "as_left"}[:1+s.draws.Below(2)] {
			s.w.BeginObject(name)
			s.w.Text("verdict", "pass")
			s.w.Number("worst_fraction", s.draws.Between(0, 2))
			s.w.BeginList("points")
			for k := range s.draws.Below(6) {
				s.w.Begin()
				s.w.Text("point", strconv.Itoa(k/2*5))
				s.w.Number("error", s.draws.Between(-1, 1))
				s.w.Number("limit", s.draws.Between(0, 1))
				s.w.End()
			}
			s.w.EndList()
			s.w.End()
		}
		if s.draws.Below(2) == 0 {
			s.w.BeginObject("after")
			s.w.Flag("open", s.draws.Below(3) > 0)
			s.w.Flag("safety", s.draws.Below(3) > 0)
			s.w.End()
		}
		s.w.End()
		s.w.End()
	}
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

func kinSample(seed uint64) []byte {
	s := newSampler(seed)
	kind := func() {
		s.w.Raw("limit", []byte(`{"rule":"en837","class":"`+[]string{"1", "1.6"}[s.draws.Below(2)]+`"}`))
		s.w.Whole("interval_months", 12)
	}
	s.w.Begin()
	s.w.BeginObject("instrument")
	kind()
	s.w.End()
	s.w.BeginList("instruments")
	n := s.draws.Below(5)
	for i := range n {
		s.w.Begin()
		s.w.Text("id", "i"+strconv.Itoa(i))
		kind()
		s.w.End()
	}
	s.w.EndList()
	s.w.BeginList("visits")
	for range s.draws.Below(60) {
		s.w.Begin()
		s.w.Text("instrument", "i"+strconv.Itoa(s.draws.Below(n+1)))
		s.w.Text("verdict", []string{"pass", "pass", "fail", "undecided"}[s.draws.Below(4)])
		s.w.End()
	}
	s.w.EndList()
	s.w.End()
	return s.w.Bytes()
}

// itemSample is the record of an instrument, some of whose fields were taken away.
func itemSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("id", "i"+strconv.Itoa(d.Below(1000)))
	w.BeginObject("fields")
	w.Text("tag", "PI-"+strconv.Itoa(d.Below(9000)))
	w.Text("kind", "gauge")
	w.Raw("range", []byte(`{"low":"0","high":"`+strconv.Itoa(1+d.Below(400))+`","unit":"bar","mode":"gauge"}`))
	w.Raw(
		"limit", []byte([...]string{`{"class":"1.6"}`, `{"rule":"terms","of_span_percent":"0.5"}`, `null`}[d.Below(3)]),
	)
	w.Text("resolution", [...]string{"0.1", "", "0.05"}[d.Below(3)])
	w.Text("note", "not kept")
	if d.Below(2) == 0 {
		w.Raw("particulars", []byte(`{"max_rate":"0.5","weakest":{"high":"8"},"relief":"7","volume_m3":"0.2"}`))
	}
	w.End()
	w.End()
	return w.Bytes()
}

// keptSample is a range of a standard with its record.
func keptSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("id", "s"+strconv.Itoa(d.Below(1000)))
	w.Raw("fields", []byte(`{"name":"Kit `+strconv.Itoa(d.Below(90))+`","serial":"`+
		[...]string{"", "K-1"}[d.Below(2)]+`","due":"2027-05-01","status":"in service"}`))
	w.BeginObject("range")
	for _, f := range [...][2]string{{"low", "0"}, {"high", strconv.Itoa(1 + d.Below(100))}, {"unit", "bar"}} {
		w.Text(f[0], f[1])
	}
	for _, name := range slices.Concat(specification, []string{"k", "resolution", "drift_per_year"}) {
		if d.Below(3) == 0 {
			w.Text(name, "0."+strconv.Itoa(1+d.Below(9999)))
		}
	}
	if d.Below(2) == 0 {
		w.Raw("points", []byte(`[{"applied":"0","error":"0.001","expanded":"0.002","k":"2"}]`))
	}
	w.End()
	w.End()
	return w.Bytes()
}

// factsSample is the typed facts of an instrument, some of which do not apply or are beyond a
// bound.
func factsSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginObject("fields")
	w.Text("tag", strings.Repeat("P", 1+d.Below(70)))
	w.Text("kind", [...]string{"", "gauge", "switch", "altimeter", "airspeed"}[d.Below(5)])
	w.Raw("limit", []byte([...]string{
		`{"rule":"en837","class":"1.6"}`, `{"rule":"terms","class":"1"}`, `{"rule":"","stop_pin":false}`, `null`,
	}[d.Below(4)]))
	w.Raw("aliases", []byte(`["P-1","`+strings.Repeat("é", 60+d.Below(8))+`"]`))
	w.Whole("interval_months", d.Below(300))
	w.End()
	w.End()
	return w.Bytes()
}

// correctionsSample is a finding with or without corrections of its pressures.
func correctionsSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", [...]string{"bar", "psi", "kPa"}[d.Below(3)])
	w.BeginObject("finding")
	w.BeginObject("gauge")
	if d.Below(3) > 0 {
		w.Number("head_correction_pa", d.Between(-20000, 20000))
	} else {
		w.Number("head_correction_low_pa", d.Between(-200, 0))
		w.Number("head_correction_high_pa", d.Between(0, 200))
	}
	w.End()
	w.BeginList("points")
	for i := range 3 {
		w.Begin()
		w.Whole("point", i*5)
		if d.Below(3) > 0 {
			w.Number("typed", d.Between(0, 10))
		}
		w.End()
	}
	w.EndList()
	w.BeginList("readings")
	for range d.Below(6) {
		w.Begin()
		w.Text("point", strconv.Itoa(d.Below(3)*5))
		w.Number("applied", d.Between(0, 10))
		if d.Below(4) > 0 {
			w.Raw("typed", []byte(`{"applied":"5 bar"}`))
		}
		w.End()
	}
	w.EndList()
	w.End()
	w.End()
	return w.Bytes()
}
