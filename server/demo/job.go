package demo

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// job is one visit of a kind of work other than a gauge's.
type job struct {
	instrument, standard merge.State
	item, method         doc
	reach                map[string]string // the range of the standard used
	beside               []beside
	certificate          int // index of the standard, which certificateOf numbers by
	cautions             []string
	pressure             string // air pressure in the room, hPa
	run                  func(visit *plant.Visit, at time.Time) (plant.Run, time.Time, error)
}

// beside is what is used beside the standard of a visit: a transmitter's meter, a barometer.
type beside struct {
	field string
	state merge.State
	reach doc
}

// certified returns when a standard was last calibrated before a visit, a year or years before its
// present calibration, and notes that certificate in its record once.
func (m *maker) certified(standard merge.State, certificate int, at time.Time) (time.Time, error) {
	now, _ := standard.Value("calibrated")
	calibrated, err := time.Parse(`"`+time.DateOnly+`"`, string(now))
	if err != nil {
		return time.Time{}, err
	}
	for calibrated.After(at) {
		calibrated = calibrated.AddDate(-1, 0, 0)
	}
	number := certificateOf(certificate, calibrated)
	for _, f := range standard.Fields {
		if strings.HasPrefix(f.Name, "certificate.") && strings.Contains(string(f.Heads[0].Value), number) {
			return calibrated, nil // with its points
		}
	}
	if m.noted[standard.ID+number] {
		return calibrated, nil
	}
	m.noted[standard.ID+number] = true
	_, err = m.keep(m.administrator(), standard, calibrated.AddDate(0, 0, 3), plant.Set{Field: "certificate." + m.id(), Value: doc{
		"number": number, "calibrated": calibrated.Format(time.DateOnly), "due": calibrated.AddDate(1, 0, 0).Format(time.DateOnly), "by": laboratory,
	}})
	return calibrated, err
}

// visitOf makes one visit with one run, signed and approved.
func (m *maker) visitOf(j job, at time.Time) error {
	person := m.result.People[0]
	std, err := plant.ReadStandard(j.standard)
	if err != nil {
		return err
	}
	calibrated, err := m.certified(j.standard, j.certificate, at)
	if err != nil {
		return err
	}
	set := []plant.Set{
		{Field: "instrument", Value: j.instrument.ID}, {Field: "method", Value: j.method}, {Field: "item", Value: j.item},
		{Field: "standard", Value: doc{"id": j.standard.ID, "range": j.reach, "snapshot": doc{"range": j.reach, "name": std.Name, "serial": std.Serial, "manufacturer": std.Manufacturer, "model": std.Model,
			"certificate_no": certificateOf(j.certificate, calibrated), "calibrated": calibrated.Format(time.DateOnly), "due": calibrated.AddDate(1, 0, 0).Format(time.DateOnly), "status": "in service"}}},
		{Field: "started", Value: plant.Stamp(at)}, {Field: "person", Value: person.ID},
		{Field: "cautions", Value: doc{"codes": j.cautions, "at": plant.Stamp(at.Add(30 * time.Second))}},
		{Field: "identity", Value: doc{"ok": true, "note": ""}}, {Field: "condition", Value: doc{"ok": true, "note": ""}},
		{
			Field: "surroundings",
			Value: doc{
				"temperature_c": number(21+m.rnd.NormFloat64(), 1), "pressure_hpa": j.pressure,
				"humidity_percent": "45",
			},
		},
	}
	for i, x := range j.beside {
		read, err := plant.ReadStandard(x.state)
		if err != nil {
			return err
		}
		calibrated, err := m.certified(x.state, j.certificate+1+i, at)
		if err != nil {
			return err
		}
		set = append(set, plant.Set{Field: x.field, Value: doc{"id": x.state.ID, "range": x.reach, "snapshot": doc{
			"range": x.reach, "name": read.Name, "serial": read.Serial, "manufacturer": read.Manufacturer, "model": read.Model,
			"certificate_no": certificateOf(j.certificate+1+i, calibrated), "calibrated": calibrated.Format(time.DateOnly),
			"due": calibrated.AddDate(1, 0, 0).Format(time.DateOnly), "status": "in service"}}})
	}
	base := merge.State{ID: m.id(), Kind: "visit", Site: j.instrument.Site, Parent: j.instrument.ID}
	scratch := plant.Drafter{Device: m.phones[0].Device, Author: m.phones[0].Author, Random: m.ids}
	_, state, err := scratch.Edit(base, at, set...)
	if err != nil {
		return err
	}
	visit, err := plant.ReadVisit(state)
	if err != nil {
		return err
	}
	run, now, err := j.run(&visit, at.Add(4*time.Minute))
	if err != nil {
		return err
	}
	if run.Finding.Verdict == "fail" {
		m.result.Failed++
	}
	runs := []plant.Run{run}
	now = now.Add(90 * time.Second)
	set = append(set, plant.Set{
		Field: "adjusted", Value: doc{"done": false, "note": ""},
	}, plant.Set{Field: "summary", Value: visit.Summarise(runs)},
		plant.Set{
			Field: "signature",
			Value: doc{
				"name": person.Name, "strokes": strokes(0), "at": plant.Stamp(now),
				"covers": plant.Covers(runs), "of": plant.SignedOf,
			},
		})
	if state, err = m.keep(m.phones[0], base, now, set...); err != nil {
		return err
	}
	m.result.Visits++
	return m.approve(state, runs, now.Add(26*time.Hour))
}

// approve approves a signed visit for the office.
func (m *maker) approve(state merge.State, runs []plant.Run, at time.Time) error {
	visit, err := plant.ReadVisit(state)
	if err != nil {
		return err
	}
	_, err = m.keep(
		m.reviewer(), state, at,
		plant.Set{
			Field: "approval",
			Value: doc{"certificate": "", "covers": plant.Covered(&visit, runs), "of": plant.SignedOf},
		},
	)
	return err
}

// judged closes a run whose captures are written, and stores it with its finding.
func (m *maker) judged(run plant.Run, set []plant.Set, visit *plant.Visit, at time.Time) (plant.Run, time.Time, error) {
	sheet, err := visit.Sheet(&run, true)
	if err != nil {
		return run, at, err
	}
	finding, err := m.ask("evaluate", sheet)
	if err != nil {
		return run, at, err
	}
	if err := json.Unmarshal(finding, &run.Finding); err != nil {
		return run, at, fmt.Errorf("the finding: %w", err)
	}
	run.Finding.Raw, run.ClosedAt = finding, plant.Stamp(at)
	set = append(
		set, plant.Set{Field: "closed", Value: doc{"at": run.ClosedAt}},
		plant.Set{Field: "finding", Value: finding},
	)
	state, err := m.keep(
		m.phones[0], merge.State{ID: run.ID, Kind: "run", Site: visit.Site, Parent: visit.ID}, at, set...,
	)
	if err != nil {
		return run, at, err
	}
	run.Changes = []string{state.Fields[0].Heads[0].Change}
	m.result.Runs++
	return run, at, nil
}
