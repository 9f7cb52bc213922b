package office

import (
	"encoding/json"
	"time"

	"gaugewright/calc/choose"
	"gaugewright/server/plant"
)

// usesPiece is how many visits one answer examines.
const usesPiece = 200

// usesBytes is how large the sheets of one answer may be before it ends: records of loggers are
// long.
const usesBytes = 4 << 20

// Use is one run that depends on a standard, in a form that can be recalculated.
type Use struct {
	Visit       string          `json:"visit"`
	Run         string          `json:"run"`
	Label       string          `json:"label"`
	Tag         string          `json:"tag"`
	Instrument  string          `json:"-"`
	Serial      string          `json:"-"`
	Description string          `json:"description"`
	Started     string          `json:"started"`
	Status      string          `json:"status"`
	Verdict     string          `json:"verdict"`
	As          string          `json:"as"`          // standard, meter or barometer
	Standard    json.RawMessage `json:"standard"`    // what the visit recorded of it
	YearsSince  string          `json:"years_since"` // from its calibration to the visit, "" if unknown
	Sheet       json.RawMessage `json:"sheet"`
	Unread      string          `json:"unread"` // why it cannot be calculated, or ""
}

// Uses lists the reported runs of the visits that used a standard since a date, a page at a time;
// after is where the next page starts, "" at the end. A visit or run that cannot be calculated is
// listed with the reason and hides no other.
//
// Refuses: ErrDate, plant.ErrNotFound.
func (o *Office) Uses(standard, since, from string) (list []Use, after string, err error) {
	if since != "" {
		if _, err := time.Parse(time.DateOnly, since); err != nil {
			return nil, "", ErrDate
		}
	}
	if _, err := o.Record(standard); err != nil {
		return nil, "", err
	}
	states, err := o.store.ByKind("visit", from, usesPiece)
	if err != nil {
		return nil, "", err
	}
	list = []Use{}
	size := 0
	for i := range states {
		v, err := plant.ReadVisit(states[i])
		if err == nil && (len(rolesOf(&v, standard)) == 0 || o.index.date(v.Started) < since) {
			continue
		}
		of, err := o.UsesOf(standard, states[i].ID)
		if err != nil {
			return nil, "", err
		}
		for _, one := range of {
			list, size = append(list, one), size+len(one.Sheet)
		}
		if size > usesBytes && i < len(states)-1 {
			after = states[i].ID
			break
		}
	}
	if after == "" && len(states) == usesPiece {
		after = states[len(states)-1].ID
	}
	return list, after, nil
}

// UsesOf lists the reported runs of one visit that used a standard. A visit that cannot be read is
// one use with the reason.
func (o *Office) UsesOf(standard, visit string) (list []Use, err error) {
	v, err := plant.LoadVisit(o.store, visit) // including the records of loggers
	var runs []plant.Run
	if err == nil {
		runs, err = plant.Runs(o.store, v.ID)
	}
	if Unreadable(err) {
		return []Use{{Visit: visit, Tag: v.Item.Tag, Started: v.Started, Unread: err.Error()}}, nil
	}
	if err != nil {
		return nil, err
	}
	for _, role := range rolesOf(&v, standard) {
		list = append(list, used(&v, runs, role)...)
	}
	return list, nil
}

// rolesOf lists the roles in which a visit used a standard: one device may measure the pressure
// with one of its ranges and the air or the signal with another.
func rolesOf(v *plant.Visit, standard string) (list []string) {
	for _, role := range plant.Roles {
		if u := v.UsedAs(role); u != nil && u.ID == standard {
			list = append(list, role)
		}
	}
	return list
}

// used lists the reported runs of a visit in which a standard had a role, each with its input for
// the calculation, or why it cannot be calculated.
func used(v *plant.Visit, runs []plant.Run, role string) (list []Use) {
	found, left := v.Speaking(runs)
	for _, r := range []*plant.Run{found, left} {
		if r == nil || r.Finding == nil {
			continue
		}
		one := Use{
			Instrument: v.Instrument, Serial: v.Item.Serial, Visit: v.ID, Run: r.ID, Label: r.Label, Tag: v.Item.Tag, Description: v.Item.Description,
			Started: v.Started, Status: string(v.Status), Verdict: r.Finding.Verdict,
			As: role, Standard: v.AsKept(role),
		}
		if u := v.UsedAs(role); u != nil {
			one.YearsSince = choose.Years(u.Snapshot.Calibrated, v.Started)
		}
		var err error
		if one.Sheet, err = v.Sheet(r, true); err != nil {
			one.Sheet, one.Unread = nil, err.Error()
		}
		list = append(list, one)
	}
	return list
}
