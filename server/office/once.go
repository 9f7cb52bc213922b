package office

import (
	"encoding/json"
	"errors"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

var errOnce = errors.New("this visit has its as-found run, and its method lets a safety function be found once only; the run is put aside for the office")

// onceRun is what the rule of being found once needs to know of a run.
type onceRun struct {
	label  string
	once   bool
	closed bool
}

// read takes a run's facts from a field.
func (r *onceRun) read(field string, value []byte) {
	switch field {
	case "label":
		r.label = textOf(value)
	case "plan":
		var plan struct {
			Once bool `json:"as_found_once"`
		}
		r.once = json.Unmarshal(value, &plan) == nil && plan.Once
	case "closed":
		r.closed = true
	}
}

func ofState(state *merge.State) (r onceRun) {
	for i := range state.Fields {
		if f := &state.Fields[i]; len(f.Heads) > 0 {
			r.read(f.Name, f.Heads[0].Value)
		}
	}
	return r
}

// foundOnce refuses a second as-found run if the plan says that the first finding counts
// (as_found_once): a safety function must not be tried until it does better. It refuses to begin a
// further run, and to close one that was begun beside the first. That one can still be ended early,
// with a reason.
func foundOnce(v store.View, state *merge.State, c *change.Change) error {
	run := ofState(state)
	closes, stopped := false, false
	for _, set := range c.Set {
		run.read(set.Field, set.Value)
		if set.Field == "closed" {
			var end struct{ Stopped string }
			closes, stopped = true, json.Unmarshal(set.Value, &end) == nil && end.Stopped != ""
		}
	}
	known := state.ID != ""
	if known && !closes || run.label == "as left" || known && stopped {
		return nil
	}
	kids, err := v.Children(c.Parent)
	if err != nil {
		return err
	}
	for i := range kids {
		if kids[i].Kind != "run" || kids[i].ID == c.Record {
			continue
		}
		if r := ofState(&kids[i]); r.closed && r.once && r.label != "as left" {
			return errOnce
		}
	}
	return nil
}
