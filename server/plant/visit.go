package plant

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/sync/merge"
)

// Status is where a visit stands.
type Status string

// The states of a visit, in the order they are reached.
const (
	Open     Status = "open"     // begun, not signed
	Signed   Status = "signed"   // waits for the office
	Returned Status = "returned" // sent back by the office after it was signed
	Approved Status = "approved" // frozen
	Reopened Status = "reopened" // opened again by the office after it was approved, not signed anew
)

// Answer is a yes or no of the technician, with what was seen.
type Answer struct {
	OK   bool   `json:"ok"`
	Note string `json:"note"`
}

// MethodUsed is the method as it was on the day.
type MethodUsed struct {
	ID         string          `json:"id"`
	Version    int             `json:"version"`
	Name       string          `json:"name"`
	Definition json.RawMessage `json:"definition"`
}

// Item is the instrument as it was on the day.
type Item struct {
	Tag          string  `json:"tag"`
	Serial       string  `json:"serial"`
	Description  string  `json:"description"`
	Kind         string  `json:"kind"`
	Manufacturer string  `json:"manufacturer"`
	Model        string  `json:"model"`
	Range        Range   `json:"range"`
	Resolution   Decimal `json:"resolution"`
	Limit        Limit   `json:"limit"`
	Area         string  `json:"area"`
	Place        string  `json:"place"`
	Medium       string  `json:"medium"`

	Particulars json.RawMessage `json:"particulars"` // of other kinds of instrument than gauges
}

// StandardUsed is the standard as it was on the day: its range in the instrument's unit, and a copy of its record.
type StandardUsed struct {
	ID       string `json:"id"`
	Range    Range  `json:"range"`
	Snapshot struct {
		Name          string `json:"name"`
		Serial        string `json:"serial"`
		Manufacturer  string `json:"manufacturer"`
		Model         string `json:"model"`
		CertificateNo string `json:"certificate_no"`
		Calibrated    string `json:"calibrated"`
		Due           string `json:"due"`
		Range         Range  `json:"range"`
	} `json:"snapshot"`
	Reason    string `json:"reason"`
	Certified int    `json:"-"` // points of the standard's certificate by which its readings are corrected
}

// Surroundings are the conditions at the gauge; what was not measured is "".
type Surroundings struct {
	TemperatureC    Decimal `json:"temperature_c"`
	PressureHPa     Decimal `json:"pressure_hpa"`
	HumidityPercent Decimal `json:"humidity_percent"`
}

// Signature is who signed the visit and what it covers.
type Signature struct {
	Name   string   `json:"name"`
	At     string   `json:"at"`
	Covers []string `json:"covers"`
}

// Summary is what every phone keeps of a past visit.
type Summary struct {
	AsFound *RunSummary `json:"as_found,omitempty"`
	AsLeft  *RunSummary `json:"as_left,omitempty"`
}

// RunSummary is the outcome of a run in short.
type RunSummary struct {
	Verdict       string          `json:"verdict"`
	WorstFraction *float64        `json:"worst_fraction"`
	Points        []PointSummary  `json:"points"`
	Results       json.RawMessage `json:"results,omitempty"` // as the finding has them
}

// PointSummary is one reading in short.
type PointSummary struct {
	Point     json.RawMessage `json:"point"`
	Direction string          `json:"direction"`
	Error     *float64        `json:"error"`
	Limit     *float64        `json:"limit"`
}

// Remark is a note that somebody made on a visit.
type Remark struct {
	ID, Text, Author, Wall string
}

// Approval is what the office said yes to.
type Approval struct {
	Certificate string   `json:"certificate"`
	Covers      []string `json:"covers"`
	By, At      string   `json:"-"` // from the change that carried it
}

// Visit is one instrument on one occasion.
type Visit struct {
	Base
	Instrument             string
	Method                 MethodUsed
	Item                   Item
	Standard               *StandardUsed
	Started, Person, Round string
	Identity, Condition    *Answer
	Surroundings           *Surroundings
	HeadAboveM             Decimal
	HeadFluid              string
	Adjusted               *struct {
		Done bool
		Note string
	}
	Remarks, Returns, Checks []Remark
	Reopenings               []Remark // why the office opened it again after an approval
	Signature                *Signature
	Summary                  Summary
	Approval                 *Approval // nil while it is open again
	Status                   Status

	raw   map[string]json.RawMessage // method definition, item, standard, surroundings and head as they stand, for the calculation
	blobs Blobs                      // nil where the source keeps none

	reopened string // stamp of the last time it was opened again
}

// ReadVisit reads a visit.
func ReadVisit(s merge.State) (Visit, error) {
	r, b := open(&s, "visit")
	v := Visit{Base: b, Instrument: r.text("instrument"), Started: r.text("started"), Person: r.text("person"), Round: r.text("round"), Status: Open,
		raw: map[string]json.RawMessage{}}
	r.take("method", &v.Method)
	r.take("item", &v.Item)
	r.take("identity", &v.Identity)
	r.take("condition", &v.Condition)
	if r.take("standard", &v.Standard) && v.Standard != nil {
		var of struct {
			Range struct{ Points []json.RawMessage } `json:"range"`
		}
		r.take("standard", &of)
		v.Standard.Certified = len(of.Range.Points)
	}
	r.take("surroundings", &v.Surroundings)
	r.take("adjusted", &v.Adjusted)
	r.take("summary", &v.Summary)
	r.take("signature", &v.Signature)
	var head struct {
		Above Decimal `json:"standard_above_m"`
		Fluid string  `json:"fluid"`
	}
	r.take("head", &head)
	v.HeadAboveM, v.HeadFluid = head.Above, head.Fluid
	for _, name := range []string{"item", "standard", "surroundings", "head"} {
		if b, ok := s.Value(name); ok && string(b) != "null" {
			v.raw[name] = clone(b)
		}
	}
	r.many("remark", remarks(r, &v.Remarks))
	signed := ""
	if f, ok := s.Field("signature"); ok && len(f.Heads) > 0 {
		v.Status, signed = Signed, f.Heads[0].Stamp.String()
	}
	r.many("returned", func(id string, f *merge.Field) {
		remarks(r, &v.Returns)(id, f)
		if v.Status == Signed && f.Heads[0].Stamp.String() > signed {
			v.Status = Returned
		}
	})
	r.many("check", func(id string, f *merge.Field) {
		var c Answer
		if r.take("check."+id, &c); !c.OK {
			v.Checks = append(v.Checks, Remark{id, c.Note, f.Heads[0].Author, f.Heads[0].Wall})
		}
	})
	if r.take("approval", &v.Approval) && v.Approval != nil {
		f, _ := s.Field("approval")
		v.Approval.By, v.Approval.At = f.Heads[0].Author, f.Heads[0].Wall
		approved := f.Heads[0].Stamp.String()
		r.many("reopened", func(id string, f *merge.Field) {
			remarks(r, &v.Reopenings)(id, f)
			v.reopened = f.Heads[0].Stamp.String()
		})
		switch {
		case v.reopened < approved:
			v.Status = Approved
		case signed < v.reopened:
			v.Status, v.Approval = Reopened, nil
		default: // signed again, and it may have been returned since
			v.Approval = nil
		}
	}
	return v, r.err
}

func remarks(r *reader, list *[]Remark) func(string, *merge.Field) {
	return func(id string, f *merge.Field) {
		var said struct{ Text, Remark, Reason string }
		r.take(f.Name, &said)
		*list = append(*list, Remark{id, said.Text + said.Remark + said.Reason, f.Heads[0].Author, f.Heads[0].Wall})
	}
}

// Capture is one recorded datum.
type Capture struct {
	ID         string          `json:"-"`
	Step       string          `json:"step"`
	Of         string          `json:"of"`
	Value      Decimal         `json:"value"` // of an answer any text, of a photo or a trace its SHA-256
	Unit       string          `json:"unit"`
	At         string          `json:"at"`
	Supersedes string          `json:"supersedes,omitempty"`
	Reason     string          `json:"reason,omitempty"`
	Reading    json.RawMessage `json:"reading,omitempty"` // of a trace: how its columns are to be taken
	File       *File           `json:"file,omitempty"`    // of a trace
	Author     string          `json:"-"`
	Change     string          `json:"-"` // id of the change that wrote it
}

// UnmarshalJSON takes a capture; only what was read of an instrument must be a decimal.
func (c *Capture) UnmarshalJSON(b []byte) error {
	type plain Capture
	v := struct {
		*plain
		Value json.RawMessage `json:"value"`
	}{plain: (*plain)(c)}
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	if c.Of != "answer" && c.Of != traceOf {
		return json.Unmarshal(v.Value, &c.Value)
	}
	text := string(v.Value)
	if len(v.Value) > 0 && v.Value[0] == '"' {
		if err := json.Unmarshal(v.Value, &text); err != nil {
			return err
		}
	}
	c.Value = Decimal(text)
	return nil
}

// Finding is what the evaluation said of a run, as far as the office reads it; Raw is the whole.
type Finding struct {
	Verdict  string    `json:"verdict"`
	Reason   string    `json:"reason"`
	Complete bool      `json:"complete"`
	Readings []Reading `json:"readings"`
	Points   []Point   `json:"points"`
	Worst    struct {
		Point     json.RawMessage `json:"point"`
		Direction string          `json:"direction"`
		Fraction  *float64        `json:"fraction"`
	} `json:"worst"`
	Gauge struct {
		HeadPa       *float64 `json:"head_correction_pa"`
		HeadLowPa    *float64 `json:"head_correction_low_pa"`
		HeadHighPa   *float64 `json:"head_correction_high_pa"`
		AirDensity   *float64 `json:"air_density_kg_m3"`
		WiderPercent *float64 `json:"temperature_allowance_percent"`
		Decision     struct {
			RiskAtLimit *float64 `json:"risk_at_limit"`
		} `json:"decision"`
	} `json:"gauge"`
	Results   []Figure                                `json:"results"` // of other kinds of work than the gauge's
	DueMonths int                                     `json:"due_months"`
	Warnings  []struct{ Code, Field, Message string } `json:"warnings"`
	Calc      string                                  `json:"calc"`
	Raw       json.RawMessage                         `json:"-"`
}

// Figure is one result of a finding with what it is held against, and where that comes from.
type Figure struct {
	Name      string   `json:"name"`
	Value     *float64 `json:"value"`
	Unit      string   `json:"unit"`
	LimitLow  *float64 `json:"limit_low"`
	LimitHigh *float64 `json:"limit_high"`
	Expanded  *float64 `json:"expanded"`
	Verdict   string   `json:"verdict"`
	Reason    string   `json:"reason"`
	Source    string   `json:"source"`
	Condition string   `json:"condition"` // of a condition, which has no number: whether it holds
}

// Reading is one reading of a finding.
type Reading struct {
	Step      string          `json:"step"`
	Series    int             `json:"series"`
	Direction string          `json:"direction"`
	Point     json.RawMessage `json:"point"`
	Applied   *float64        `json:"applied"`
	Indicated *float64        `json:"indicated"`
	Error     *float64        `json:"error"`
	LimitLow  *float64        `json:"limit_low"`
	LimitHigh *float64        `json:"limit_high"`
	Fraction  *float64        `json:"fraction"`
	Verdict   string          `json:"verdict"`
	Typed     struct {        // as typed, each with its unit, where it was converted or corrected
		Applied   string `json:"applied"`
		Indicated string `json:"indicated"`
	} `json:"typed"`
}

// Point is one test point of a finding over all its series.
type Point struct {
	Point      json.RawMessage `json:"point"`
	Applied    *float64        `json:"applied"`
	Error      *float64        `json:"error"`
	ErrorUp    *float64        `json:"error_up"`
	ErrorDown  *float64        `json:"error_down"`
	Hysteresis *float64        `json:"hysteresis"`
	Friction   *float64        `json:"friction"`
	Limit      *float64        `json:"limit"`
	U          *float64        `json:"u"`
	K          *float64        `json:"k"`
	Expanded   *float64        `json:"expanded"`
	Verdict    string          `json:"verdict"`
	Typed      *float64        `json:"typed"` // the pressure at the standard before corrections
	Risk       *float64        `json:"risk"`
}

// Run is one pass through a plan.
type Run struct {
	Base
	Label    string
	Plan     json.RawMessage
	Captures []Capture // in the order of writing, superseded ones too
	ClosedAt string    // "" while it is open
	Stopped  string    // why it ended early
	Finding  *Finding
	Changes  []string // ids of every change of the run, sorted
	Begun    string   // stamp of its first change
}

// ReadRun reads a run.
func ReadRun(s merge.State) (Run, error) {
	r, b := open(&s, "run")
	v := Run{Base: b, Label: r.text("label")}
	r.take("plan", &v.Plan)
	r.many("capture", func(id string, f *merge.Field) {
		c := Capture{ID: id, Author: f.Heads[0].Author, Change: f.Heads[0].Change}
		if r.take(f.Name, &c) {
			v.Captures = append(v.Captures, c)
		}
	})
	var closed struct{ At, Stopped string }
	r.take("closed", &closed)
	v.ClosedAt, v.Stopped = closed.At, closed.Stopped
	if r.take("finding", &v.Finding) && v.Finding != nil {
		raw, _ := s.Value("finding")
		v.Finding.Raw = clone(raw)
	}
	for i := range s.Fields {
		for _, h := range s.Fields[i].Heads {
			v.Changes = append(v.Changes, h.Change)
			if stamp := h.Stamp.String(); s.Fields[i].Name == "label" {
				v.Begun = stamp
			}
		}
		v.Changes = append(v.Changes, s.Fields[i].Replaced...)
	}
	slices.Sort(v.Changes)
	v.Changes = slices.Compact(v.Changes)
	return v, r.err
}

// Effective returns the captures that no other has superseded, in the order of writing.
func (r *Run) Effective() []Capture {
	gone := map[string]bool{}
	for _, c := range r.Captures {
		if c.Supersedes != "" {
			gone[c.Supersedes] = true
		}
	}
	return slices.DeleteFunc(slices.Clone(r.Captures), func(c Capture) bool { return gone[c.ID] })
}

// Runs returns the runs of a visit in the order of their beginning.
func Runs(src Source, visit string) ([]Run, error) {
	kids, err := src.Children(visit)
	if err != nil {
		return nil, err
	}
	var list []Run
	for _, s := range kids {
		if s.Kind != "run" {
			continue
		}
		r, err := ReadRun(s)
		if err != nil {
			return nil, fmt.Errorf("visit %s: %w", visit, err)
		}
		list = append(list, r)
	}
	slices.SortStableFunc(list, func(a, b Run) int { return strings.Compare(a.Begun, b.Begun) })
	return list, nil
}

// Covers lists every change of some runs, which is what a signature or an approval stands for.
func Covers(runs []Run) []string {
	ids := []string{}
	for i := range runs {
		ids = append(ids, runs[i].Changes...)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// Speaking picks the runs that speak for a visit among its runs in order: the first whole as-found one (after a return by the office, the
// last whole one before any adjustment; after an approved visit was opened again, the last whole one begun since), and the last whole one since
// the adjustment. Either may be nil.
func (v *Visit) Speaking(runs []Run) (found, left *Run) {
	var before, after []*Run
	for i := range runs {
		r := &runs[i]
		if r.ClosedAt == "" {
			continue
		}
		if r.Label == "as left" || len(after) > 0 {
			after = append(after, r)
		} else {
			before = append(before, r)
		}
	}
	if len(v.Returns) == 0 {
		for _, r := range before {
			if r.Label == "as found" && r.whole() {
				found = r
				break
			}
		}
	}
	for _, r := range before {
		if v.reopened != "" && r.Begun > v.reopened && r.whole() {
			found = r
		}
	}
	if found == nil {
		found = lastWhole(before)
	}
	return found, lastWhole(after)
}

func (r *Run) whole() bool { return r.Finding != nil && r.Finding.Complete }

func lastWhole(runs []*Run) *Run {
	for _, r := range slices.Backward(runs) {
		if r.whole() {
			return r
		}
	}
	if len(runs) > 0 {
		return runs[len(runs)-1]
	}
	return nil
}

// Summarise shortens findings to what every phone keeps of a past visit.
func (v *Visit) Summarise(runs []Run) Summary {
	short := func(r *Run) *RunSummary {
		if r == nil {
			return nil
		}
		s := &RunSummary{Verdict: "undecided", Points: []PointSummary{}}
		if r.Finding == nil {
			return s
		}
		s.Verdict, s.WorstFraction = r.Finding.Verdict, r.Finding.Worst.Fraction
		for _, p := range r.Finding.Readings {
			s.Points = append(s.Points, PointSummary{p.Point, p.Direction, p.Error, p.LimitHigh})
		}
		var whole struct{ Results json.RawMessage }
		if json.Unmarshal(r.Finding.Raw, &whole) == nil { // the finding was read before
			s.Results = whole.Results
		}
		return s
	}
	found, left := v.Speaking(runs)
	return Summary{AsFound: short(found), AsLeft: short(left)}
}

// Sheet puts together what room evaluate is asked about a run: the visit's method, instrument, standard, surroundings and head, and the
// run's effective captures. A standard's range without a specification is left out, as on the phone.
func (v *Visit) Sheet(run *Run, complete bool) ([]byte, error) {
	var item struct {
		Range                     map[string]json.RawMessage
		Resolution, Limit, Output json.RawMessage
		Coefficient               json.RawMessage `json:"temperature_coefficient_percent_per_k"`
		Reference                 json.RawMessage `json:"reference_temperature_c"`
		Particulars               json.RawMessage // of other kinds of instrument than gauges
	}
	if err := json.Unmarshal(v.raw["item"], &item); err != nil {
		return nil, fmt.Errorf("visit %s: field item %w: %w", v.ID, ErrValue, err)
	}
	w := document.NewWriter(nil)
	w.Begin()
	w.Raw("method", v.Method.Definition)
	w.BeginObject("instrument")
	for _, name := range []string{"low", "high", "unit", "mode"} {
		if b, ok := item.Range[name]; ok {
			w.Raw(name, b)
		}
	}
	for _, f := range []struct {
		name  string
		value json.RawMessage
	}{{"resolution", item.Resolution}, {"limit", item.Limit}, {"output", item.Output}, {"temperature_coefficient_percent_per_k", item.Coefficient},
		{"reference_temperature_c", item.Reference}, {"particulars", item.Particulars}} {
		if len(f.value) > 0 {
			w.Raw(f.name, f.value)
		}
	}
	w.End()
	if err := v.writeStandard(w); err != nil {
		return nil, err
	}
	for _, name := range []string{"surroundings", "head"} {
		if b, ok := v.raw[name]; ok {
			w.Raw(name, b)
		}
	}
	w.BeginList("captures")
	for _, c := range run.Effective() {
		if c.Of == traceOf {
			continue
		}
		w.Begin()
		w.Text("step", c.Step)
		w.Text("of", c.Of)
		w.Text("value", string(c.Value))
		w.Text("unit", c.Unit)
		if _, ok := document.ParseMoment(c.At); ok {
			w.Text("at", c.At)
		}
		w.End()
	}
	w.EndList()
	if err := v.writeTraces(w, run); err != nil {
		return nil, err
	}
	w.Flag("complete", complete)
	w.End()
	return w.Bytes(), w.Err()
}

// StandardAsKept returns the visit's field standard as it stands, or nil.
func (v *Visit) StandardAsKept() json.RawMessage { return v.raw["standard"] }

func (v *Visit) writeStandard(w *document.Writer) error {
	b, ok := v.raw["standard"]
	if !ok {
		return nil
	}
	var std struct{ Range map[string]json.RawMessage }
	if err := json.Unmarshal(b, &std); err != nil {
		return fmt.Errorf("visit %s: field standard %w: %w", v.ID, ErrValue, err)
	}
	specification := []string{"of_reading_percent", "of_span_percent", "absolute", "stability_ppm"}
	if !slices.ContainsFunc(specification, func(n string) bool { _, ok := std.Range[n]; return ok }) {
		return nil
	}
	w.BeginObject("standard")
	w.BeginList("ranges")
	w.Begin()
	for _, name := range append([]string{"low", "high"}, append(specification, "k")...) {
		if b, ok := std.Range[name]; ok {
			w.Raw(name, b)
		}
	}
	w.End()
	w.EndList()
	if points := std.Range["points"]; len(points) > 0 && string(points) != "[]" && string(points) != "null" {
		w.BeginObject("certificate")
		w.Raw("points", points)
		w.End()
	}
	for _, name := range []string{"drift_per_year", "years_since"} {
		if b, ok := std.Range[name]; ok {
			w.Raw(name, b)
		}
	}
	w.End()
	return nil
}
