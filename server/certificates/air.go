package certificates

import (
	"encoding/json"
	"slices"
	"strconv"

	"gaugewright/calc/numeric"
	"gaugewright/server/plant"
)

// airFacts returns at which field elevation and pressure a pitot-static test was made, and the text
// about its figures. Other kinds of work have none.
func (s *sheet) airFacts(run *plant.Run) (facts []Fact, text string) {
	var own map[string]json.RawMessage
	var kind struct {
		FieldPa *float64 `json:"field_pa"`
	}
	var parts struct {
		Elevation *plant.Decimal `json:"field_elevation_ft"`
		Subscale  string         `json:"subscale"`
	}
	if json.Unmarshal(run.Finding.Raw, &own) != nil || json.Unmarshal(own[s.def.Kind], &kind) != nil ||
		kind.FieldPa == nil {
		return nil, ""
	}
	facts = append(facts, Fact{s.say("Field pressure"), s.say("{} hPa, measured at the beginning ({} inHg)",
		s.number(strconv.FormatFloat(*kind.FieldPa/100, 'f', 1, 64)),
		s.number(strconv.FormatFloat(*kind.FieldPa/3386.388640341, 'f', 2, 64)))})
	if len(s.in.Visit.Item.Particulars) > 0 && json.Unmarshal(s.in.Visit.Item.Particulars, &parts) == nil &&
		parts.Elevation != nil {
		facts = append(facts, Fact{s.say("Field elevation"), s.typed(*parts.Elevation) + " ft"})
	}
	text = s.say("Altitudes are geopotential pressure altitudes of the standard atmosphere (ISO 2533, ICAO Doc 7488), airspeeds are calibrated airspeeds.")
	points := s.airPoints(run)
	if slices.ContainsFunc(points, func(p airPoint) bool { return p.compared() }) {
		text += s.say(" Error = indicated − applied; where two readings are compared, the earlier one stands as applied and the later one as indicated.")
	}
	if slices.ContainsFunc(points, func(p airPoint) bool { return p.Test != "" && !p.compared() }) {
		text += s.say(" A leak is the change in one minute, from the value in its name.")
	}
	text += s.say(" Limits are quoted from their sources as the laboratory has them.")
	if slices.ContainsFunc(run.Finding.Results, func(f plant.Figure) bool { return f.Expanded != nil && *f.Expanded > 0 }) {
		text += s.say(" U is that of what was applied.")
	}
	return facts, text + s.say(" The aircraft's maintenance manual and its release to service go before this {}.", s.word(s.def.noun()))
}

// air reports whether the work is on pitot-static instruments or lines.
func (s *sheet) air() bool { return len(s.airPoints(s.in.parts()[0].run)) > 0 }

// airPoint is a point of a pitot-static test; there is one for each figure of its finding, in
// order.
type airPoint struct {
	Test, Direction, Unit string
	Altitude              float64 `json:"altitude_ft"`
	Knots                 float64 `json:"cas_kt"`
	Indicated, Error      *float64
	Low                   *float64 `json:"limit_low"`
	High                  *float64 `json:"limit_high"`
}

// airPoints returns those of a finding; none for another kind of work.
func (s *sheet) airPoints(run *plant.Run) []airPoint {
	var own map[string]json.RawMessage
	var kind struct{ Points []airPoint }
	if json.Unmarshal(run.Finding.Raw, &own) != nil || json.Unmarshal(own[s.def.Kind], &kind) != nil ||
		len(kind.Points) != len(run.Finding.Results) {
		return nil
	}
	return kind.Points
}

// compared reports whether a test's figure is the difference of two readings, or of a reading and
// what was applied. For a leak it is a loss over a time.
func (p *airPoint) compared() bool {
	return p.Test != "case-leak" && p.Test != "static-leak" && p.Test != "pitot-leak" &&
		p.Indicated != nil && p.Error != nil
}

// applied is what the indication was compared with, without binary rounding noise.
func (p *airPoint) applied() float64 { return numeric.RoundSignificant(*p.Indicated-*p.Error, 9) }

// airRead is what a figure was calculated from, with the unit.
type airRead struct{ applied, indicated string }

// airReadings returns what was applied and indicated for each figure; none for another kind of
// work.
func (s *sheet) airReadings(run *plant.Run) []airRead {
	points := s.airPoints(run)
	list := make([]airRead, len(points))
	for i := range points {
		p := &points[i]
		if !p.compared() {
			continue
		}
		x, least := p.applied(), 0
		if p.Unit == s.in.Visit.Item.Range.Unit {
			least = places(s.in.Visit.Item.Resolution)
		}
		applied := figure(&x)
		if u := run.Finding.Results[i].Expanded; u != nil && *u > 0 {
			applied = fixed(&x, max(least, decimalsOf(*u)))
		}
		list[i] = airRead{
			s.number(applied) + " " + p.Unit, s.number(fixed(p.Indicated, max(least, shortest(*p.Indicated)))) + " " + p.Unit,
		}
	}
	return list
}

// airTests are the tests whose errors are drawn, as on the page of a result.
func (s *sheet) airTests() []Fact {
	return []Fact{
		{"scale", s.say("error over the scale")},
		{"hysteresis", s.say("falling less rising")},
		{"friction", s.say("change on vibration")},
		{"correspondence", s.say("reported less displayed")},
		{"rate", s.say("error of the rate")},
		{"rvsm", s.say("error at the altitudes of reduced vertical separation")},
	}
}

// airCharts are drawings, test by test, of the errors within their limits over altitude, airspeed or
// rate.
func (s *sheet) airCharts(run *plant.Run) (list []drawing) {
	points := s.airPoints(run)
	for _, test := range s.airTests() {
		var r results
		unit := ""
		for i := range points {
			p := &points[i]
			if p.Test != test.Name || p.Low == nil || p.High == nil || !p.compared() {
				continue
			}
			x := p.applied()
			switch unit = p.Unit; unit {
			case "ft":
				x = p.Altitude
			case "kt":
				x = p.Knots
			}
			r.readings = append(r.readings, plant.Reading{
				Direction: p.Direction, Applied: &x, Error: p.Error, LimitLow: p.Low, LimitHigh: p.High,
			})
			r.points = append(r.points, &plant.Point{Expanded: run.Finding.Results[i].Expanded})
		}
		if len(r.readings) > 1 {
			list = append(list, drawing{chartHeight + 6, func() {
				s.pdf.SetY(s.pdf.GetY() + 2)
				s.chart(r, s.say("applied, {}", unit), joined(", ", test.Text, unit))
			}})
		}
	}
	return list
}
