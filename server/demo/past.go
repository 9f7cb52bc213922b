package demo

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

type doc = map[string]any

// plan is the part of a plan that the demo uses.
type plan struct {
	Steps []struct {
		ID, Do, Direction, Of string
		Target                plant.Decimal
		Unit                  string
		Seconds               float64
	}
}

// past makes the visits of the years before today, day by day.
func (m *maker) past() error {
	if m.result.NoHistory {
		return nil
	}
	type appointment struct {
		at time.Time
		g  *gauge
	}
	var list []appointment
	for _, g := range m.gauges {
		for year := range m.Years {
			day := g.last.AddDate(-year, 0, 0)
			if year > 0 {
				day = day.AddDate(0, 0, m.rnd.IntN(9)-4)
			}
			if g.inService || year > 0 {
				list = append(list, appointment{day, g})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b appointment) int { return a.at.Compare(b.at) })
	busy := map[string]int{} // visits of a technician on a day, which give the time of day
	for _, a := range list {
		key := fmt.Sprint(a.g.technician, a.at.Format(time.DateOnly))
		at := a.at.Add(time.Duration(20+35*busy[key]) * time.Minute)
		busy[key]++
		if err := m.visit(a.g, at); err != nil {
			return fmt.Errorf("%v on %s: %w", a.g.item["tag"], at.Format(time.DateOnly), err)
		}
	}
	return nil
}

// visit makes one visit: its runs, itself with its signature and, unless it is from the last days,
// the office's approval.
func (m *maker) visit(g *gauge, at time.Time) error {
	phone, person := m.phones[g.technician], m.result.People[g.technician]
	set, err := m.opening(g, person.ID, at)
	if err != nil {
		return err
	}
	base := merge.State{ID: m.id(), Kind: "visit", Site: g.state.Site, Parent: g.state.ID}
	scratch := plant.Drafter{Device: phone.Device, Author: phone.Author, Random: m.ids}
	_, state, err := scratch.Edit(base, at, set...)
	if err != nil {
		return err
	}
	visit, err := plant.ReadVisit(state)
	if err != nil {
		return err
	}
	found, now, err := m.run(g, &visit, "as found", at.Add(4*time.Minute))
	if err != nil {
		return err
	}
	runs := []plant.Run{found}
	bad := found.Finding.Verdict == "fail"
	worst := 0.0
	if found.Finding.Worst.Fraction != nil {
		worst = math.Abs(*found.Finding.Worst.Fraction)
	}
	adjusted, note := false, ""
	if bad || worst > 0.85 && m.rnd.IntN(2) == 0 {
		adjusted, note = true, []string{"pointer moved", "pointer and linkage set", "zero set"}[m.rnd.IntN(3)]
		m.adjust(g, now)
		left, end, err := m.run(g, &visit, "as left", now.Add(6*time.Minute))
		if err != nil {
			return err
		}
		runs, now = append(runs, left), end
		m.result.Adjusted++
	}
	if bad {
		m.result.Failed++
	}
	now = now.Add(90 * time.Second)
	set = append(set, plant.Set{
		Field: "adjusted", Value: doc{"done": adjusted, "note": note},
	}, plant.Set{Field: "summary", Value: visit.Summarise(runs)},
		plant.Set{
			Field: "signature",
			Value: doc{
				"name": person.Name, "strokes": strokes(g.technician), "at": plant.Stamp(now),
				"covers": plant.Covers(runs), "of": plant.SignedOf,
			},
		})
	if m.rnd.IntN(15) == 0 {
		set = append(set, plant.Set{Field: "remark." + m.id(), Value: doc{"text": remarks[m.rnd.IntN(len(remarks))]}})
	}
	state, err = m.keep(phone, base, now, set...)
	if err != nil {
		return err
	}
	m.result.Visits++
	const reviewed = 4 // days that the office takes to review a visit
	if m.start.Sub(now) < reviewed*24*time.Hour {
		g.visitedLately = true
		m.result.Waiting++
		return nil
	}
	return m.approve(state, runs, now.Add(26*time.Hour))
}

var remarks = []string{
	"Isolation valve is stiff.", "Glass is cloudy, still readable.", "Label was faded and is renewed.",
	"Access only with a ladder.", "Light vibration at the pump; read at rest.",
}

// strokes returns a scrawl for a signature.
func strokes(who int) [][]int {
	var line []int // x, y, x, y … in thousandths of the box's width
	for i := range 24 {
		x := float64(i)
		line = append(line, 80+35*i, 150+int(60*math.Sin(x*(0.7+0.2*float64(who)))*math.Exp(-x/30)))
	}
	return [][]int{line}
}

// opening returns the fields with which a visit begins.
func (m *maker) opening(g *gauge, person string, at time.Time) ([]plant.Set, error) {
	standard, err := m.standardFor(g, at)
	if err != nil {
		return nil, err
	}
	x := methods[g.methodIndex]
	season := math.Cos(float64(at.YearDay()-200) / 365 * 2 * math.Pi)
	return []plant.Set{
		{Field: "instrument", Value: g.state.ID},
		{
			Field: "method",
			Value: doc{"id": g.method, "version": 1, "name": x.name, "definition": json.RawMessage(x.definition)},
		},
		{Field: "item", Value: g.item}, {Field: "standard", Value: standard}, {
			Field: "started", Value: plant.Stamp(at),
		}, {Field: "person", Value: person},
		{Field: "cautions", Value: doc{"codes": x.cautions, "at": plant.Stamp(at.Add(30 * time.Second))}},
		{Field: "identity", Value: doc{"ok": true, "note": ""}}, {Field: "condition", Value: doc{"ok": true, "note": ""}},
		{Field: "surroundings", Value: doc{"temperature_c": number(19+6*season+2*m.rnd.NormFloat64(), 1), "pressure_hpa": number(1012+8*m.rnd.NormFloat64(), 0),
			"humidity_percent": number(min(90, 50+10*m.rnd.NormFloat64()), 0)}},
	}, nil
}

// plan expands a gauge's method for its range.
func (m *maker) plan(g *gauge, visit *plant.Visit) (json.RawMessage, error) {
	instrument := doc{"low": visit.Item.Range.Low, "high": visit.Item.Range.High, "unit": visit.Item.Range.Unit, "mode": visit.Item.Range.Mode,
		"resolution": visit.Item.Resolution, "limit": g.item["limit"]}
	b, err := plant.Canonical(doc{"method": visit.Method.Definition, "instrument": instrument})
	if err != nil {
		return nil, err
	}
	if p, ok := m.plans[string(b)]; ok {
		return p, nil
	}
	p, err := m.ask("expand", b)
	if err == nil {
		m.plans[string(b)] = p
	}
	return p, err
}

// run works through a gauge's plan and stores the readings, with the finding.
func (m *maker) run(g *gauge, visit *plant.Visit, label string, at time.Time) (plant.Run, time.Time, error) {
	raw, err := m.plan(g, visit)
	if err != nil {
		return plant.Run{}, at, err
	}
	var p plan
	if err := json.Unmarshal(raw, &p); err != nil {
		return plant.Run{}, at, fmt.Errorf("the plan: %w", err)
	}
	run := plant.Run{Base: plant.Base{ID: m.id()}, Label: label}
	set := []plant.Set{{Field: "label", Value: label}, {Field: "plan", Value: raw}}
	target := g.low
	for _, s := range p.Steps {
		at = at.Add(time.Duration(8+s.Seconds)*time.Second + time.Duration(m.rnd.IntN(7000))*time.Millisecond)
		if s.Target != "" {
			if target, err = strconv.ParseFloat(string(s.Target), 64); err != nil {
				return plant.Run{}, at, fmt.Errorf("step %s: %w", s.ID, err)
			}
		}
		if s.Do != "read" {
			set = append(set, plant.Set{Field: "done." + s.ID, Value: doc{"at": plant.Stamp(at)}})
			continue
		}
		of := s.Of
		if of == "" {
			of = "indicated"
		}
		value := number(target, max(g.digits, decimals(target))+1)
		if of != "applied" {
			shown := m.indicates(g, target, s.Direction == "down", at)
			if of == "before_tap" && m.rnd.IntN(3) == 0 {
				shown -= g.resolution
			}
			value = number(shown, g.digits)
		}
		c := plant.Capture{
			ID: m.id(), Step: s.ID, Of: of, Value: plant.Decimal(value), Unit: g.unit, At: plant.Stamp(at),
		}
		run.Captures = append(run.Captures, c)
		set = append(set, plant.Set{Field: "capture." + c.ID, Value: c})
	}
	sheet, err := visit.Sheet(&run, true)
	if err != nil {
		return plant.Run{}, at, err
	}
	finding, err := m.ask("evaluate", sheet)
	if err != nil {
		return plant.Run{}, at, err
	}
	if err := json.Unmarshal(finding, &run.Finding); err != nil {
		return plant.Run{}, at, fmt.Errorf("the finding: %w", err)
	}
	run.Finding.Raw, run.ClosedAt = finding, plant.Stamp(at)
	set = append(
		set, plant.Set{Field: "closed", Value: doc{"at": run.ClosedAt}},
		plant.Set{Field: "finding", Value: finding},
	)
	state, err := m.keep(
		m.phones[g.technician], merge.State{ID: run.ID, Kind: "run", Site: g.state.Site, Parent: visit.ID},
		at, set...,
	)
	if err != nil {
		return plant.Run{}, at, err
	}
	run.Changes = []string{state.Fields[0].Heads[0].Change}
	m.result.Runs++
	return run, at, nil
}
