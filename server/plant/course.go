package plant

import (
	"encoding/json"
	"fmt"
	"strings"

	"gaugewright/calc"
	"gaugewright/calc/document"
)

// CourseStep is one step of a programme's run as done, on one of its passes.
type CourseStep struct {
	ID, Do, Direction, Unit, Of, Text, Name, As, Until string

	Target, Within, Rate Decimal

	Move    string
	Mode    string
	AtMost  float64 `json:"at_most_s"`
	Seconds float64
	Count   int
	Cycle   int
	Cycles  int
	Line    int
	Done    bool
	Over    bool // a wait for stable values that they have decided
	Settled bool

	// What was recorded, which the calculation does not return.
	Captures []Capture `json:"-"` // effective ones, in the order of writing
	Begun    string    `json:"-"` // when a wait began; "" if that was not noted
	At       string    `json:"-"` // when it was done; "" if that was not noted
}

// Course is how a run of a programme went.
type Course struct {
	Unit     string
	Steps    []CourseStep
	Branches []struct {
		Step, Taken, Reason string
		Line                int
	}
	Flags []struct{ Step, Code, Message string }
	Ended bool
	Stop  string // why it ended before its last line
	Fault string `json:"-"` // why the run could not be followed; the steps are then only what was recorded
}

// Course follows a run of a programme by what was recorded, as the phone did; nil for a visit of
// another kind of work. src has the loggers' records.
//
// Refuses: TraceError.
func (v *Visit) Course(src Source, run *Run) (*Course, error) {
	var method struct {
		Kind, Unit, Mode string
		Text             string
		Steps            json.RawMessage
	}
	if err := json.Unmarshal(v.Method.Definition, &method); err != nil || method.Kind != "programme" {
		return nil, err
	}
	if v.blobs == nil {
		v.blobs, _ = src.(Blobs)
	}
	unit, mode := v.Item.Range.Unit, v.Item.Range.Mode
	w := document.NewWriter(nil)
	w.Begin()
	if len(method.Steps) > 0 {
		w.Raw("programme", method.Steps)
	} else {
		w.Text("programme", method.Text)
	}
	w.Text("unit", unit)
	if mode == "gauge" || mode == "absolute" {
		w.Text("mode", mode)
	}
	effective := run.Effective()
	w.BeginList("captures")
	for _, c := range effective {
		if c.Of == traceOf {
			continue
		}
		w.Begin()
		w.Text("step", c.Step)
		w.Text("of", c.Of)
		w.Text("value", string(c.Value))
		w.Text("unit", c.Unit)
		w.Text("at", c.At)
		w.End()
	}
	w.EndList()
	if err := v.writeTraces(w, run); err != nil {
		return nil, err
	}
	w.BeginList("done")
	for _, d := range run.Done {
		w.Begin()
		w.Text("step", d.Step)
		w.Text("at", d.At)
		w.End()
	}
	w.EndList()
	if run.Stopped != "" {
		w.Text("stopped", run.Stopped)
	}
	w.End()
	if err := w.Err(); err != nil {
		return nil, err
	}
	var reply struct {
		Course
		Error *struct{ Field, Message string }
	}
	if err := json.Unmarshal(calc.Call("follow", w.Bytes()), &reply); err != nil {
		return nil, fmt.Errorf("run %s: %w: %w", run.ID, ErrValue, err)
	}
	c := reply.Course
	if e := reply.Error; e != nil {
		c = Course{Fault: strings.TrimPrefix(e.Field+": "+e.Message, ": ")}
	}
	c.Unit = unit
	c.recorded(run, effective)
	return &c, nil
}

// recorded adds what was recorded to each step.
func (c *Course) recorded(run *Run, effective []Capture) {
	at := map[string]int{}
	for i := range c.Steps {
		at[c.Steps[i].ID] = i
	}
	for _, one := range effective {
		i, ok := at[one.Step]
		if !ok { // not a step of the programme as followed, but listed anyway
			i = len(c.Steps)
			at[one.Step] = i
			c.Steps = append(c.Steps, CourseStep{ID: one.Step, Do: "step", Text: one.Step, Done: true})
		}
		c.Steps[i].Captures = append(c.Steps[i].Captures, one)
		c.Steps[i].At = max(c.Steps[i].At, one.At)
	}
	for _, d := range run.Done {
		id, begun := strings.CutSuffix(d.Step, ".begun")
		i, ok := at[id]
		switch {
		case !ok:
		case begun:
			c.Steps[i].Begun = d.At
		default:
			c.Steps[i].At = max(c.Steps[i].At, d.At)
		}
	}
}
