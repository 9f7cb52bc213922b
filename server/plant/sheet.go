package plant

import (
	"encoding/json"
	"fmt"
	"slices"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// basis names the fields of a visit that its calculations get, besides its method.
var basis = []string{
	"item", "standard", "meter", "barometer", "surroundings", "head", "cautions", "identity", "condition", "service",
	"started",
}

// value returns a field as it is; nil if there is none.
func (v *Visit) value(name string, raw json.RawMessage) (*document.Value, error) {
	if len(raw) == 0 {
		return nil, nil
	}
	parsed, err := document.Parse(raw)
	if err != nil {
		return nil, fmt.Errorf("visit %s: field %s %w: %w", v.ID, name, ErrValue, err)
	}
	return &parsed, nil
}

// Sheet builds the input of the calculation evaluate for a run: what the visit gives to every
// calculation, and the run's effective captures with the loggers' records.
func (v *Visit) Sheet(run *Run, complete bool) ([]byte, error) {
	var b visit.Basis
	fields := []**document.Value{
		&b.Item, &b.Standard, &b.Meter, &b.Barometer, &b.Surroundings, &b.Head, &b.Cautions, &b.Identity, &b.Condition,
		&b.Service, &b.Started,
	}
	var err error
	for i, name := range basis {
		if *fields[i], err = v.value(name, v.raw[name]); err != nil {
			return nil, err
		}
	}
	if b.Method, err = v.value("method", v.Method.Definition); err != nil {
		return nil, err
	}
	w := document.NewWriter(nil)
	w.Begin()
	b.Write(w)
	var data []visit.Datum
	for _, c := range run.Effective() {
		data = append(data, visit.Datum{Step: c.Step, Of: c.Of, Value: string(c.Value), Unit: c.Unit, At: c.At})
	}
	visit.WriteCaptures(w, data)
	if err := v.writeTraces(w, run); err != nil {
		return nil, err
	}
	w.Flag("complete", complete)
	w.End()
	return w.Bytes(), w.Err()
}

// Roles are the fields of a visit that name the devices it measured with.
var Roles = []string{"standard", "meter", "barometer"}

// UsedAs returns the device in a role; nil if there is none.
func (v *Visit) UsedAs(role string) *StandardUsed {
	switch role {
	case "standard":
		return v.Standard
	case "meter":
		return v.Meter
	case "barometer":
		return v.Barometer
	}
	return nil
}

// AsKept returns a field of the visit as it is, or nil.
func (v *Visit) AsKept(field string) json.RawMessage { return v.raw[field] }

// standardRange returns the range of the standard as the visit keeps it; nil if there is none.
func (v *Visit) standardRange() (*document.Value, error) {
	std, err := v.value("standard", v.raw["standard"])
	if std == nil || std.Kind != document.Object {
		return nil, err
	}
	kept, _ := std.Get("range")
	return kept, nil
}

// OddStandard reports whether a person has to check the certificate of the visit's standard: it is
// dated after the work, or its errors or uncertainties are far outside the specification. The
// calculation "certificate" decides; a visit that keeps too little for it is not odd.
func (v *Visit) OddStandard() bool {
	kept, err := v.standardRange()
	if err != nil || v.Standard == nil || len(v.Started) < len("2006-01-02") || v.Standard.Snapshot.Calibrated == "" {
		return false
	}
	snapshot := &v.Standard.Snapshot
	w := document.NewWriter(nil)
	w.Begin()
	if visit.Specified(kept) {
		visit.WriteRange(w, kept)
	}
	w.Text("calibrated", snapshot.Calibrated)
	w.Text("due", max(snapshot.Due, snapshot.Calibrated)) // being overdue is another question
	w.Text("today", v.Started[:len("2006-01-02")])
	w.End()
	if w.Err() != nil {
		return false
	}
	var reply struct{ Doubts []struct{ Code string } }
	if json.Unmarshal(calc.Call("certificate", w.Bytes()), &reply) != nil {
		return false
	}
	return slices.ContainsFunc(reply.Doubts, func(d struct{ Code string }) bool { return d.Code != "expired" })
}
