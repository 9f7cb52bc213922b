package plant

import (
	"encoding/json"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/visit"
	"gaugewright/sync/merge"
)

// Status is how far a visit has got.
type Status = visit.Status

// The states of a visit, in the order they are reached.
const (
	Open     = visit.Open
	Signed   = visit.Signed
	Returned = visit.Returned
	Approved = visit.Approved
	Reopened = visit.Reopened
)

// Answer is a technician's yes or no, with what they saw.
type Answer struct {
	OK    bool   `json:"ok"`
	Note  string `json:"note"`
	State string `json:"state"` // of a condition: good, dirty or damaged; "" if only good or not was answered
	Way   string `json:"way"`   // of an identity that differs: wrong, exchanged or register
}

// NotTested is why a visit ended without a test.
type NotTested struct {
	Why    string `json:"why"`   // what stopped it: cautions, identity, damaged, oxygen, air or safety; today if none of these
	Cause  string `json:"cause"` // isolation, access, fitting, running or other; "" if none was chosen
	Reason string `json:"reason"`
	At     string `json:"at"`
}

// MethodUsed is the method as it was on the day.
type MethodUsed struct {
	ID         string          `json:"id"`
	Version    int             `json:"version"`
	Name       string          `json:"name"`
	Definition json.RawMessage `json:"definition"`
	Reason     string          `json:"reason"` // why it was taken instead of the one that was set, "" if it was that one
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
	Overload     Decimal `json:"overload"`
	Limit        Limit   `json:"limit"`
	Area         string  `json:"area"`
	Place        string  `json:"place"`
	Medium       string  `json:"medium"`

	Output *Signal `json:"output"` // of a transmitter

	Particulars json.RawMessage `json:"particulars"` // of instruments that are not gauges
}

// Signal is a transmitter's output: what it gives at the low and the high end of its range.
type Signal struct {
	Low  Decimal `json:"low"`
	High Decimal `json:"high"`
	Unit string  `json:"unit"`
	Law  string  `json:"law"` // "", "linear" or "square-root"
}

// Span returns the difference of the two ends, 0 if either is not a number.
func (o *Signal) Span() float64 {
	low, err := strconv.ParseFloat(string(o.Low), 64)
	high, err2 := strconv.ParseFloat(string(o.High), 64)
	if err != nil || err2 != nil {
		return 0
	}
	return high - low
}

// StandardUsed is the standard as it was on the day: its range in the instrument's unit, and a copy
// of its record.
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
	Certified int    `json:"-"` // points of the standard's certificate that correct its readings
}

// Order is the customer's order for a visit.
type Order struct {
	Number   string `json:"number"`
	Received string `json:"received"` // the day on which the item arrived, such as 2026-01-31
}

// Surroundings are the conditions at the gauge; a value that was not measured is "".
type Surroundings struct {
	TemperatureC    Decimal `json:"temperature_c"`
	PressureHPa     Decimal `json:"pressure_hpa"`
	HumidityPercent Decimal `json:"humidity_percent"`
}

// Signature is who signed the visit and what it covers.
type Signature struct {
	Name   string   `json:"name"` // as the phone wrote it; By is who signed
	At     string   `json:"at"`
	Covers []string `json:"covers"` // ids of changes
	Of     []string `json:"of"`     // whose changes Covers lists: "visit", "runs"; if empty, only runs (earlier versions)
	By     string   `json:"-"`      // the author of the change that carried it
	Change string   `json:"-"`      // its id
}

// Summary is what every phone keeps of a past visit.
type Summary struct {
	AsFound *RunSummary   `json:"as_found,omitempty"`
	AsLeft  *RunSummary   `json:"as_left,omitempty"`
	After   *AfterSummary `json:"after,omitempty"` // if a result failed
}

// RunSummary is the outcome of a run in short form.
type RunSummary struct {
	Verdict       string          `json:"verdict"`
	WorstFraction *float64        `json:"worst_fraction"`
	Points        []PointSummary  `json:"points"`
	Results       json.RawMessage `json:"results,omitempty"` // as in the finding
}

// PointSummary is one reading in short form.
type PointSummary struct {
	Point     json.RawMessage `json:"point"`
	Direction string          `json:"direction"`
	Error     *float64        `json:"error"`
	Limit     *float64        `json:"limit"`
}

// Remark is a note on a visit.
type Remark struct {
	ID, Text, Author, Wall string
}

// Approval is the office's approval of a visit.
type Approval struct {
	Certificate string   `json:"certificate"`
	Covers      []string `json:"covers"`
	Of          []string `json:"of"`     // as in a Signature
	Effect      string   `json:"effect"` // what a failure as found means for the work since the last pass
	By, At      string   `json:"-"`      // from the change that carried it
	Change      string   `json:"-"`      // its id
}

// Visit is one instrument on one occasion.
type Visit struct {
	Base
	Instrument             string
	Method                 MethodUsed
	Item                   Item
	Standard               *StandardUsed
	Barometer              *StandardUsed // the barometer beside a gauge standard; its range is in the item's unit
	Meter                  *StandardUsed // meter for a transmitter's signal; its range is in the unit of the output
	Started, Person, Round string
	// Together lists the visits of the gauges on one manifold, including this one, in the order in
	// which they were read; empty if it was alone.
	Together            []string
	Order               Order
	Identity, Condition *Answer
	Unsafe              bool       // a caution or question was not met before the first pressure
	NotTested           *NotTested // nil if it was tested, or still may be
	Surroundings        *Surroundings
	HeadAboveM          Decimal
	HeadFluid           string
	Permit              string // number of the permit to work, "" if none was needed
	Adjusted            *struct {
		Done bool
		Note string
	}
	Disposition              *Disposition           // nil if nothing failed, or nothing was decided
	Since                    struct{ Visit string } // for a test after a failure that another visit found
	Bypasses                 []Bypass
	Remarks, Returns, Checks []Remark
	Late                     []string // runs that got a reading after they were closed, from a phone that did not know
	Reopenings               []Remark // why the office reopened it after an approval
	Signature                *Signature
	Summary                  Summary
	Approval                 *Approval // nil while it is reopened
	Status                   Status
	Changed                  []string // what the signature or the approval does not cover, if that was checked
	Marks                    Marks    // whether its signature and approval are good by their keys, if that was checked

	written    []visit.Written // every change of it, by field
	signatures []string        // changes that carry a valid signature

	raw   map[string]json.RawMessage // the fields in basis as they are, for the calculation
	blobs Blobs                      // nil if the source keeps none

	reopened string // stamp of the last reopening
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
	if r.take("not_tested", &v.NotTested) && v.NotTested != nil && v.NotTested.Reason == "" {
		v.NotTested = nil // withdrawn
	}
	var cautions struct {
		Met    *bool  `json:"met"`
		Permit string `json:"permit"`
	}
	r.take("cautions", &cautions)
	v.Permit = cautions.Permit
	var service struct{ Oxygen, Air string }
	r.take("service", &service)
	v.Unsafe = cautions.Met != nil && !*cautions.Met || service.Oxygen == "no" || service.Air == "no"
	if r.take("standard", &v.Standard) && v.Standard != nil {
		var of struct {
			Range struct{ Points []json.RawMessage } `json:"range"`
		}
		r.take("standard", &of)
		v.Standard.Certified = len(of.Range.Points)
	}
	r.take("meter", &v.Meter)
	r.take("barometer", &v.Barometer)
	var manifold struct{ Visits []string }
	r.take("manifold", &manifold)
	v.Together = manifold.Visits
	r.take("order", &v.Order)
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
	for _, name := range basis {
		if b, ok := s.Value(name); ok && string(b) != "null" {
			v.raw[name] = clone(b)
		}
	}
	r.many("remark", remarks(r, &v.Remarks))
	v.readAfter(r)
	rec := recordOf(&s)
	standing := visit.ReadStanding(&rec)
	v.written, v.Status, v.reopened = visit.WrittenOf(&rec), standing.Status, standing.Reopened
	if f, ok := s.Field("signature"); ok && len(f.Heads) > 0 {
		for _, h := range f.Heads {
			v.signatures = append(v.signatures, h.Change)
		}
		if v.Signature != nil {
			v.Signature.By, v.Signature.Change = f.Heads[0].Author, f.Heads[0].Change
		}
	}
	r.many("returned", remarks(r, &v.Returns))
	r.many("late", func(id string, f *merge.Field) { v.Late = append(v.Late, id) })
	r.many("check", func(id string, f *merge.Field) {
		var c Answer
		if r.take("check."+id, &c); !c.OK {
			v.Checks = append(v.Checks, Remark{id, c.Note, f.Heads[0].Author, f.Heads[0].Wall})
		}
	})
	if v.Approval = r.approval(); v.Approval != nil {
		r.many("reopened", remarks(r, &v.Reopenings))
		if v.Status != Approved {
			v.Approval = nil
		}
	}
	return v, r.err
}

// approval reads the approval of a visit, in force or not; nil if there is none.
func (r *reader) approval() (a *Approval) {
	if r.take("approval", &a) && a != nil {
		f, _ := r.state.Field("approval")
		a.By, a.At, a.Change = f.Heads[0].Author, f.Heads[0].Wall, f.Heads[0].Change
	}
	return a
}

// ReadApproval reads of a visit only the approval that is in force; nil if there is none.
func ReadApproval(s merge.State) (*Approval, error) {
	r, _ := open(&s, "visit")
	a := r.approval()
	rec := recordOf(&s)
	if visit.ReadStanding(&rec).Status != Approved {
		a = nil
	}
	return a, r.err
}

// remark is a remark on a visit: a text, or an object with the text and the changes it is about.
type remark struct {
	Text, Remark, Reason string
	Of, Signed           []string
}

// UnmarshalJSON reads either form.
func (m *remark) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '"' {
		return json.Unmarshal(b, &m.Text)
	}
	type plain remark
	return json.Unmarshal(b, (*plain)(m))
}

func remarks(r *reader, list *[]Remark) func(string, *merge.Field) {
	return func(id string, f *merge.Field) {
		var said remark
		r.take(f.Name, &said)
		*list = append(*list, Remark{id, said.Text + said.Remark + said.Reason, f.Heads[0].Author, f.Heads[0].Wall})
	}
}

// Speaking picks, among a visit's runs in order, those that are reported; either may be nil.
func (v *Visit) Speaking(runs []Run) (found, left *Run) {
	passes := make([]visit.Pass, len(runs))
	for i := range runs {
		r := &runs[i]
		passes[i] = visit.Pass{
			Label: r.Label, Begun: r.Begun, Closed: r.ClosedAt != "",
			Whole: r.Finding != nil && r.Finding.Complete,
		}
	}
	at := func(i int) *Run {
		if i < 0 {
			return nil
		}
		return &runs[i]
	}
	i, j := visit.Reported(len(v.Returns) > 0, v.reopened, passes)
	return at(i), at(j)
}

// Summarise shortens findings to what every phone keeps of a past visit.
func (v *Visit) Summarise(runs []Run) (sum Summary) {
	found, left := v.Speaking(runs)
	w := document.NewWriter(nil)
	w.Begin()
	visit.WriteSummary(w, found != nil, left != nil, found.finding(), left.finding())
	w.End()
	if w.Err() != nil || json.Unmarshal(w.Bytes(), &sum) != nil {
		return Summary{}
	}
	if o := v.Outcome(runs); o.Failed {
		sum.After = &AfterSummary{Open: o.Open, Safety: o.Safety}
		if d := v.Disposition; d != nil {
			sum.After.Way, sum.After.Until = d.Way, d.Until
		}
	}
	return sum
}

// finding returns the finding of a run as it is, nil if there is none.
func (r *Run) finding() *document.Value {
	if r == nil || r.Finding == nil {
		return nil
	}
	v, err := document.Parse(r.Finding.Raw)
	if err != nil {
		return nil
	}
	return &v
}
