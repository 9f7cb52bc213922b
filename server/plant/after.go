package plant

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Disposition is what was decided about an instrument that failed and was not put right.
type Disposition struct {
	Way    string `json:"way"`    // replaced, left_in_service or taken_out
	Serial string `json:"serial"` // of the replacement
	By     string `json:"by"`     // who decided that it stays in service
	Until  string `json:"until"`  // the last day until which it may
	Reason string `json:"reason"`
	Code   string `json:"code"` // of the defect
	At     string `json:"at"`
}

// Bypass is a bypass, override or inhibit set for the test.
type Bypass struct {
	ID     string `json:"-"`
	Name   string `json:"name"`
	State  string `json:"state"` // set, removed, or left in for a reason
	Reason string `json:"reason"`
}

// Outcome is what follows from a visit's results and disposition; the calculation "after" decides.
type Outcome struct {
	Failed, Asked, Open bool // there is a failure; nothing was decided about it; it is still open after this visit
	Safety              bool // of a safety function
	Unsettled           int  `json:"bypasses_unsettled"`
	BypassesIn          int  `json:"bypasses_in"`
}

// AfterSummary is what every phone keeps of a failure in a past visit.
type AfterSummary struct {
	Open   bool   `json:"open"`
	Safety bool   `json:"safety"`
	Way    string `json:"way"`
	Until  string `json:"until,omitempty"`
}

// Safety reports whether a run is of a safety function, for which the first finding counts.
func (r *Run) Safety() bool {
	var plan struct {
		Once bool `json:"as_found_once"`
	}
	return json.Unmarshal(r.Plan, &plan) == nil && plan.Once
}

// Outcome returns what follows from the reported runs.
func (v *Visit) Outcome(runs []Run) (o Outcome) {
	var kind struct{ Kind string }
	_ = json.Unmarshal(v.Method.Definition, &kind) // without a kind every disposition is possible
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("kind", kind.Kind)
	found, left := v.Speaking(runs)
	say := func(name string, r *Run) {
		if r != nil && r.Finding != nil && v.NotTested == nil {
			o.Safety = o.Safety || r.Safety()
			w.Text(name, r.Finding.Verdict)
		}
	}
	say("found", found)
	say("left", left)
	w.Flag("safety", o.Safety)
	if d := v.Disposition; d != nil {
		w.BeginObject("said")
		w.Text("way", d.Way)
		w.Text("serial", d.Serial)
		w.Text("by", d.By)
		w.Text("until", d.Until)
		w.Text("reason", d.Reason)
		w.Text("code", d.Code)
		w.End()
	}
	w.BeginList("bypasses")
	for _, b := range v.Bypasses {
		w.Begin()
		w.Text("name", b.Name)
		w.Text("state", b.State)
		w.Text("reason", b.Reason)
		w.End()
	}
	w.EndList()
	w.End()
	_ = json.Unmarshal(calc.Call("after", w.Bytes()), &o) // a refusal decides nothing; refusable input was refused on arrival
	return o
}

// readAfter reads the disposition and the bypasses of a visit.
func (v *Visit) readAfter(r *reader) {
	if r.take("disposition", &v.Disposition) && v.Disposition != nil && v.Disposition.Way == "" {
		v.Disposition = nil // withdrawn
	}
	r.take("since", &v.Since)
	r.many("bypass", func(id string, f *merge.Field) {
		b := Bypass{ID: id}
		if r.take(f.Name, &b); b.Name != "" {
			v.Bypasses = append(v.Bypasses, b)
		}
	})
}

// checkAfter refuses a disposition or a bypass with a missing member.
func checkAfter(c *change.Change) error {
	for _, set := range c.Set {
		name := set.Field
		doc := ""
		switch {
		case string(set.Value) == "null":
		case name == "disposition":
			doc = `{"said":` + string(set.Value) + `}`
		case strings.HasPrefix(name, "bypass."):
			doc = `{"bypasses":[` + string(set.Value) + `]}`
		}
		if doc == "" {
			continue
		}
		var reply struct {
			Error *struct{ Field, Message string }
		}
		if err := json.Unmarshal(calc.Call("after", []byte(doc)), &reply); err != nil {
			return err
		}
		if reply.Error != nil {
			return fmt.Errorf("field %s %w: %w", name, ErrValue, errors.New(reply.Error.Field+": "+reply.Error.Message))
		}
	}
	return nil
}
