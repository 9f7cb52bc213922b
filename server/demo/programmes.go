package demo

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// programmes are tests that the plant's office wrote itself and published.
var programmes = []struct {
	name, text string
	rules      []doc
}{
	{"Held for a minute", `unit bar gauge
vent
hold 10 s
read zero from gauge
set 0.5
hold 60 s
read held from gauge
vent
`, []doc{{"name": "zero", "low": "-0.02", "high": "0.02"}, {"name": "held", "low": "0.45", "high": "0.55"}}},
	{"Rest at three and six bar", `unit bar gauge
note "Everything connected is rated for 6 bar, the relief valve is set, and nobody stands before a joint."
vent
hold 10 s
read zero from gauge
set 3
settle within 0.02 for 30 s, at most 300 s
read low from gauge
set 6
settle within 0.02 for 30 s, at most 300 s
read high from gauge
if high - low > 3.1 {
  hold 60 s
  read again from gauge
} else {
  note "The step of three bar is as it should be."
}
ask "Was anything heard at the joints?" as yes into heard
vent
`, []doc{
		{
			"name": "the step of three bar", "when": "high - low > 2.9",
			"text": "below 2.9 bar the pointer sticks or the range is not what the dial says",
		},
	}},
}

// skid is a gauge of a test skid that one of the programmes tests.
type skid struct {
	tag, serial, description string
	programme                int
	off, sinks               float64 // error of the gauge in bar, and the skid's loss in bar a minute
	due                      int
}

var skidCautions = []string{"stand_aside", "stored_energy", "vent"}

var skids = []skid{
	{"SK-1", "SK-3301", "Gauge of the hose shop's hand skid", 0, 0.01, 0.012, 75},
	{"SK-2", "SK-3302", "Gauge of the hose shop's large skid", 1, -0.02, 0.004, 120},
}

// programmes publishes the plant's own tests, and makes the skids that they tested in each of the
// last two years.
func (m *maker) programmes(founded time.Time, standard merge.State) error {
	ids := make([]string, len(programmes))
	for i, p := range programmes {
		definition := doc{"kind": "programme", "text": p.text, "rules": p.rules}
		state, err := m.method(founded, p.name, "programme", definition, skidCautions)
		if err != nil {
			return err
		}
		ids[i] = state.ID
	}
	for i := range skids {
		x := &skids[i]
		p := &programmes[x.programme]
		due := m.start.AddDate(0, 0, x.due)
		item := doc{"tag": x.tag, "serial": x.serial, "description": x.description, "kind": "gauge", "manufacturer": "Tallow & Reed", "model": "G100",
			"range": map[string]string{
				"low": "0", "high": "10", "unit": "bar", "mode": "gauge",
			}, "resolution": "0.01", "limit": doc{"rule": "en837", "class": "1"}, "medium": "nitrogen",
			"area": "Utilities", "place": "hose shop"}
		set := []plant.Set{{
			Field: "method", Value: ids[x.programme],
		}, {Field: "cautions", Value: skidCautions}, {Field: "interval_months", Value: 12},
			{
				Field: "due", Value: due.Format(time.DateOnly),
			}, {Field: "status", Value: "in service"}, {Field: "label", Value: m.id()[:10]}}
		for _, name := range []string{"tag", "serial", "description", "kind", "manufacturer", "model", "range", "resolution", "limit", "medium", "area", "place"} {
			set = append(set, plant.Set{Field: name, Value: item[name]})
		}
		state, err := m.keep(
			m.administrator(), merge.State{ID: m.id(), Kind: "instrument", Site: m.sites[0].ID}, founded,
			set...,
		)
		if err != nil {
			return err
		}
		m.result.Instruments++
		item["instrument"] = state.ID
		for back := 2; back >= 1; back-- {
			at := due.AddDate(-back, 0, -3).Add(90 * time.Minute)
			j := job{instrument: state, item: item, standard: standard, reach: systemRanges[1], certificate: len(standards) + 1, cautions: skidCautions, pressure: number(1008+6*m.rnd.NormFloat64(), 1),
				method: doc{
					"id": ids[x.programme], "version": 1, "name": p.name,
					"definition": doc{"kind": "programme", "text": p.text, "rules": p.rules},
				},
				run: func(visit *plant.Visit, at time.Time) (plant.Run, time.Time, error) {
					return m.programmeRun(x, visit, at)
				}}
			if err := m.visitOf(j, at); err != nil {
				return fmt.Errorf("%s on %s: %w", x.tag, at.Format(time.DateOnly), err)
			}
		}
	}
	return nil
}

// course is how far a run of a programme has got.
type course struct {
	Steps []struct {
		systemStep
		Name string
		Done bool
	}
	Current  []string
	Finished bool
}

// programmeRun works through a programme as a phone does: it follows what was recorded, and does
// the steps of the next screen.
func (m *maker) programmeRun(x *skid, visit *plant.Visit, at time.Time) (plant.Run, time.Time, error) {
	const mostScreens = 100
	run := plant.Run{Base: plant.Base{ID: m.id()}, Label: "as found"}
	b, err := plant.Canonical(
		doc{
			"method":     visit.Method.Definition,
			"instrument": doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge", "resolution": "0.01"},
		},
	)
	if err != nil {
		return run, at, err
	}
	raw, err := m.ask("expand", b)
	if err != nil {
		return run, at, err
	}
	set := []plant.Set{{Field: "label", Value: run.Label}, {Field: "plan", Value: raw}}
	captures, done := []doc{}, []doc{}
	write := func(step, of, value, unit string) {
		// One change has all of them: what has the same stamp is read in the order of its ids.
		c := plant.Capture{
			ID: fmt.Sprintf("%03d", len(captures)) + m.id()[3:], Step: step, Of: of,
			Value: plant.Decimal(value), Unit: unit, At: plant.Stamp(at),
		}
		entry := doc{"step": c.Step, "of": c.Of, "value": value, "unit": c.Unit, "at": c.At}
		run.Captures, captures = append(run.Captures, c), append(captures, entry)
		set = append(set, plant.Set{Field: "capture." + c.ID, Value: entry})
	}
	applied := 0.0
	for range mostScreens {
		b, err := plant.Canonical(
			doc{
				"programme": programmes[x.programme].text, "unit": "bar", "mode": "gauge", "captures": captures,
				"done": done,
			},
		)
		if err != nil {
			return run, at, err
		}
		reply, err := m.ask("follow", b)
		if err != nil {
			return run, at, err
		}
		var c course
		if err := json.Unmarshal(reply, &c); err != nil {
			return run, at, fmt.Errorf("where the run stands: %w", err)
		}
		if c.Finished {
			return m.judged(run, set, visit, at)
		}
		for _, s := range c.Steps {
			if s.Done || !slices.Contains(c.Current, s.ID) {
				continue
			}
			at = at.Add(time.Duration(6+m.rnd.IntN(9)) * time.Second)
			switch s.Do {
			case "ask":
				write(s.ID, "answer", "no", "")
			case "read":
				write(s.ID, "indicated", number(applied+x.off+0.004*m.rnd.NormFloat64(), 2), "bar")
			case "settle":
				at = at.Add(15 * time.Second)
				write(s.ID, "settle", number(applied+0.003*m.rnd.NormFloat64(), 2), "bar")
			default:
				at = at.Add(time.Duration(s.Seconds) * time.Second)
				if s.Do == "set" {
					applied, _ = strconv.ParseFloat(string(s.Target), 64)
				}
				if s.Do == "vent" {
					applied = 0
				}
				applied -= min(applied, x.sinks*s.Seconds/60)
				done = append(done, doc{"step": s.ID, "at": plant.Stamp(at)})
				set = append(set, plant.Set{Field: "done." + s.ID, Value: doc{"at": plant.Stamp(at)}})
			}
		}
	}
	return run, at, fmt.Errorf("the programme %q does not end", programmes[x.programme].name)
}
