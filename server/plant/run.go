package plant

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gaugewright/calc/visit"
	"gaugewright/sync/merge"
)

// Capture is one recorded value.
type Capture struct {
	ID         string          `json:"-"`
	Step       string          `json:"step"`
	Of         string          `json:"of"`
	Value      Decimal         `json:"value"` // any text for an answer; the SHA-256 for a photo or a trace
	Unit       string          `json:"unit"`
	At         string          `json:"at"`
	Supersedes string          `json:"supersedes,omitempty"`
	Reason     string          `json:"reason,omitempty"`
	Reading    json.RawMessage `json:"reading,omitempty"` // of a trace: how to read its columns
	File       *File           `json:"file,omitempty"`    // of a trace
	Author     string          `json:"-"`
	Change     string          `json:"-"` // id of the change that wrote it
}

// UnmarshalJSON reads a capture; only what was read from an instrument must be a decimal.
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

// Done says that a step without a value was done or, under a wait's name with ".begun", that the
// wait began.
type Done struct {
	Step string `json:"-"`
	At   string `json:"at"`
}

// Run is one pass through a plan.
type Run struct {
	Base
	Label    string
	Plan     json.RawMessage
	Captures []Capture // in order of writing, superseded ones too
	Done     []Done    // steps without a value
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
	r.many("done", func(id string, f *merge.Field) {
		d := Done{Step: id}
		if r.take(f.Name, &d) {
			v.Done = append(v.Done, d)
		}
	})
	var closed struct{ At, Stopped string }
	r.take("closed", &closed)
	v.ClosedAt, v.Stopped = closed.At, closed.Stopped
	if r.take("finding", &v.Finding) && v.Finding != nil {
		raw, _ := s.Value("finding")
		v.Finding.Raw = clone(raw)
	}
	rec := recordOf(&s)
	v.Begun, v.Changes = visit.Begun(&rec), visit.Changes(visit.WrittenOf(&rec)...)
	return v, r.err
}

// Names implements visit.Superseding.
func (c Capture) Names() (id, supersedes string) { return c.ID, c.Supersedes }

// Effective returns the captures that no other supersedes, in order of writing.
func (r *Run) Effective() []Capture { return visit.Effective(r.Captures) }

// Departures returns the effective captures that were kept, with a reason, against an objection,
// such as a reading before its wait was over. A correction also has a reason, but is not one.
func (r *Run) Departures() []Capture {
	return slices.DeleteFunc(r.Effective(), func(c Capture) bool { return c.Reason == "" || c.Supersedes != "" })
}

// Runs returns the runs of a visit, ordered by when they began.
func Runs(src Source, visit string) ([]Run, error) {
	kids, err := src.Children(visit)
	if err != nil {
		return nil, err
	}
	var list []Run
	for _, s := range kids {
		if s.Kind != "run" && s.Damaged == "" {
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
