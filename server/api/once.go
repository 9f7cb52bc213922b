package api

import (
	"encoding/json"
	"errors"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

var errOnce = errors.New("this visit has its as-found run, and its method lets a safety function be found once only; the run is put aside for the office")

// once watches one push for a second as-found run where a plan says that what is found the first time stands (as_found_once): what a safety function did
// is not tried again until it does better.
type once struct {
	*server
	begun map[string]onceRun // of this push, by run
	first map[string]string  // of this push, by visit: the run that was closed
}

type onceRun struct {
	label string
	once  bool
}

func (s *server) watch() *once {
	return &once{s, map[string]onceRun{}, map[string]string{}}
}

// read takes from fields what is said of a run.
func (r *onceRun) read(field string, value []byte) {
	switch field {
	case "label":
		r.label = textOf(value)
	case "plan":
		var plan struct {
			Once bool `json:"as_found_once"`
		}
		r.once = json.Unmarshal(value, &plan) == nil && plan.Once
	}
}

// run says what is known of a run before a change: from this push, or from the store.
func (o *once) run(id string) (r onceRun, known bool, closedBy string, err error) {
	state, known, err := o.Store.Record(id)
	if err != nil {
		return r, false, "", err
	}
	if known {
		r, closedBy = ofState(&state)
	}
	if later, ok := o.begun[id]; ok {
		return later, true, closedBy, nil
	}
	return r, known, closedBy, nil
}

func ofState(state *merge.State) (r onceRun, closedBy string) {
	for i := range state.Fields {
		f := &state.Fields[i]
		if len(f.Heads) == 0 {
			continue
		}
		r.read(f.Name, f.Heads[0].Value)
		if f.Name == "closed" {
			closedBy = f.Heads[0].Change
		}
	}
	return r, closedBy
}

// closed finds the run of a visit that was found once and is closed, or "".
func (o *once) closed(visit string) (string, error) {
	if id := o.first[visit]; id != "" {
		return id, nil
	}
	kids, err := o.Store.Children(visit)
	if err != nil {
		return "", err
	}
	for i := range kids {
		if kids[i].Kind != "run" {
			continue
		}
		if r, closedBy := ofState(&kids[i]); closedBy != "" && r.once && r.label != "as left" {
			return kids[i].ID, nil
		}
	}
	return "", nil
}

// judge refuses the beginning of a further run, and the closing of one that was begun beside the first: that one can still be ended early, with its
// reason.
func (o *once) judge(c *change.Change) error {
	if c.Kind != "run" {
		return nil
	}
	run, known, closedBy, err := o.run(c.Record)
	if err != nil || closedBy == c.ID {
		return err
	}
	closes, stopped := false, false
	for _, set := range c.Set {
		run.read(set.Field, set.Value)
		if set.Field == "closed" {
			var end struct{ Stopped string }
			closes, stopped = true, json.Unmarshal(set.Value, &end) == nil && end.Stopped != ""
		}
	}
	if known && !closes {
		return nil
	}
	first, err := o.closed(c.Parent)
	if err != nil {
		return err
	}
	if first != "" && first != c.Record && run.label != "as left" && (!known || !stopped) {
		return errOnce
	}
	o.begun[c.Record] = run
	if closes && run.once && run.label != "as left" && first == "" {
		o.first[c.Parent] = c.Record
	}
	return nil
}
