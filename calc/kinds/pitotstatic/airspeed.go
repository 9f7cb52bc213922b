package pitotstatic

import (
	"math"
	"strconv"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// layAirspeed lays out the points of an airspeed indicator, rising and, where asked for, falling.
func layAirspeed(in *document.Reader, p *work.Plan) (*airPlan, error) {
	a, m := newAir(in, p, units.Speed, "kt")
	a.pitot = lineControlled
	static := m.ChoiceOr("static", lineOpen, lineControlled)
	at, hasAt := m.Optional("at_ft")
	if in.Err() == nil && hasAt != (static == lineControlled) {
		m.Fail(document.CodeConflict, "at_ft", "an altitude belongs to a static line that is controlled")
	}
	falls := m.ChoiceOr("directions", "up", "up-down") == "up-down"
	greater := m.ChoiceOr("rule", "stated", "greater") == "greater"
	var rows []airRow
	source := a.source
	if name := m.TextOr("table", ""); name != "" {
		table, ok := airdata.SpeedTable(name)
		switch {
		case !ok && in.Err() == nil:
			m.Fail(document.CodeRange, "table", "there are the tables 10-150, 20-250 and 40-400")
		case m.Has("points"):
			m.Fail(document.CodeConflict, "table", "give the points or a table, not both")
		}
		source = airdata.SpeedTableSource
		for _, r := range table {
			rows = append(
				rows, airRow{at: r.At, text: work.Shortly(r.At), limit: exactFeet(r.Feet), field: "method.table"},
			)
		}
	} else {
		for i, r := range m.List("points") {
			d := r.Decimal("kt")
			row := airRow{at: d.Value, text: d.Text, own: true, field: r.Path("kt")}
			x, _ := numeric.ParseExact(d.Text)
			switch {
			case r.Has("tolerance_kt"):
				if row.limit = decimal(r, "tolerance_kt"); r.Err() == nil && row.limit.Sign() <= 0 {
					r.Fail(document.CodeRange, "tolerance_kt", "must be above zero")
				}
			case greater:
				r.Raw("tolerance_kt")
				row.own, row.limit = false, numeric.ExactInt(5)
				if part, _ := x.Abs().Mul(numeric.ExactInt(3)).Div(numeric.ExactInt(100)); part.Cmp(row.limit) > 0 {
					row.limit = part
				}
			default:
				r.Fail(
					document.CodeMissing, "tolerance_kt",
					"state a tolerance, from the manual of the instrument, or the rule",
				)
			}
			if r.Err() == nil && i > 0 && row.at <= rows[i-1].at {
				r.Fail(document.CodeRange, "kt", "the points must rise")
			}
			rows = append(rows, row)
		}
		if greater {
			source = airdata.SystemLimitSource
		}
		if in.Err() == nil && (len(rows) == 0 || len(rows) > 100) {
			m.Fail(document.CodeRange, "points", "from 1 to 100 points are needed")
		}
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	a.begin()
	if static == lineControlled {
		a.screen()
		a.climbTo(
			"at.set", "method.at_ft", at, 0,
			"Both pressures together: pitot stays joined to static until the altitude is steady",
		)
	}
	one := func(r *airRow, down bool) {
		id := "speed." + mark(r.at)
		name := "airspeed " + r.text + " kt"
		if down {
			id += ".down"
			name += ", falling"
		}
		a.screen()
		a.speedTo(id+".set", r.field, r.at, "")
		a.hold(id+".hold", a.rest(10))
		x, _ := numeric.ParseExact(r.text)
		point := airPoint{
			test: "scale", id: id, name: name, down: down, show: x, limit: r.limit, limited: true,
			source: source, reading: true,
		}
		if r.own {
			point.source = a.source
		}
		a.readFor(id, r.text, "", &point)
		a.judge(point)
	}
	for i := range rows {
		one(&rows[i], false)
	}
	for i := len(rows) - 2; falls && i >= 0; i-- {
		one(&rows[i], true)
	}
	a.finish()
	return a, in.Err()
}

// layVertical lays out the points of a vertical speed indicator. At each, the altitude changes at
// the rate while the indicator is read.
func layVertical(in *document.Reader, p *work.Plan) (*airPlan, error) {
	a, m := newAir(in, p, units.Speed, "ft/min")
	a.pitot = m.ChoiceOr("pitot", lineTied, lineOpen, lineNone)
	zero := airPoint{test: "zero", id: "zero", name: "at rest", source: a.source, reading: true}
	if m.Has("zero_ft_min") {
		zero.limit, zero.limited = decimal(m, "zero_ft_min"), true
		if m.Err() == nil && zero.limit.Sign() <= 0 {
			m.Fail(document.CodeRange, "zero_ft_min", "must be above zero")
		}
	} else {
		m.Raw("zero_ft_min")
	}
	list := m.List("points")
	if in.Err() == nil && (len(list) == 0 || len(list) > 100) {
		m.Fail(document.CodeRange, "points", "from 1 to 100 points are needed")
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	a.begin()
	a.screen()
	a.readFor("zero", "0", "At rest, after a light tap", &zero)
	a.judge(zero)
	for i, r := range list {
		d := r.Decimal("ft_min")
		at, over := r.Number("at_ft"), r.NumberOr("over_ft", math.Abs(d.Value))
		limit := decimal(r, "tolerance_ft_min")
		x, _ := numeric.ParseExact(d.Text)
		switch {
		case in.Err() != nil:
		case d.Value == 0 || over <= 0:
			r.Fail(document.CodeRange, "ft_min", "a rate other than 0, over a height above 0, is needed")
		case math.Abs(d.Value) > a.climbs:
			r.Fail(document.CodeRange, "ft_min", "lies above the "+work.Shortly(a.climbs)+" ft/min of this plan")
		case limit.Sign() <= 0:
			r.Fail(document.CodeRange, "tolerance_ft_min", "must be above zero")
		}
		if err := in.Err(); err != nil {
			return nil, err
		}
		if d.Value < 0 {
			over = -over
		}
		id := "rate." + strconv.Itoa(i)
		a.screen()
		a.climbTo(id+".from", r.Path("at_ft"), at-float64(over/2), 0, "")
		a.hold(id+".hold", a.rest(0))
		a.screen()
		a.climbTo(
			id+".set", r.Path("at_ft"), at+float64(over/2), math.Abs(d.Value),
			"Read while the rate is steady, through "+ft(at),
		)
		point := airPoint{
			test: "rate", id: id, name: "rate " + d.Text + " ft/min through " + ft(at), down: d.Value < 0,
			show: x, limit: limit, limited: true, source: a.source, reading: true,
		}
		a.readFor(id, d.Text, "", &point)
		a.judge(point)
	}
	a.finish()
	return a, in.Err()
}

// layReporting lays out the correspondence of reported and displayed altitude.
func layReporting(in *document.Reader, p *work.Plan) (*airPlan, error) {
	a, m := newAir(in, p, units.Length, "ft")
	a.pitot = m.ChoiceOr("pitot", lineTied, lineOpen, lineNone)
	one := airPoint{test: airdata.TestCorrespondence, reading: true}
	a.rule(m, "tolerance_ft", airdata.TestCorrespondence, &one)
	points := m.Numbers("points_ft")
	if in.Err() == nil && (len(points) == 0 || len(points) > 100) {
		m.Fail(document.CodeRange, "points_ft", "from 1 to 100 points are needed")
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	a.begin()
	for i, at := range points {
		id := "reported." + strconv.Itoa(i)
		a.screen()
		a.climbTo(id+".set", "method.points_ft", at, 0, "")
		a.hold(id+".hold", a.rest(10))
		a.read(id+".displayed", work.Shortly(at), "Displayed, with 29.92 inHg (1013.2 hPa) set")
		one.id, one.name, one.pair = id, "reported less displayed at "+ft(at), id+".displayed"
		one.down = i > 0 && at < points[i-1]
		a.readFor(id, work.Shortly(at), "Reported", &one)
		a.judge(one)
	}
	a.finish()
	return a, in.Err()
}

// layLeak lays out the leak tests of a pitot-static system: the static line from an altitude, the
// pitot line from an airspeed.
func layLeak(in *document.Reader, p *work.Plan) (*airPlan, error) {
	a, m := newAir(in, p, units.Length, "ft")
	a.pitot = m.ChoiceOr("pitot_line", lineTied, lineNone)
	minutes := numeric.ExactInt(1)
	if m.Has("minutes") {
		if minutes = decimal(m, "minutes"); m.Err() == nil &&
			(minutes.Sign() <= 0 || minutes.Cmp(numeric.ExactInt(60)) > 0) {
			m.Fail(document.CodeRange, "minutes", "must be above 0 and at most 60")
		}
	} else {
		m.Raw("minutes")
	}
	static, hasStatic := m.OptionalObject("static")
	pitot, hasPitot := m.OptionalObject("pitot")
	if in.Err() == nil && !hasStatic && !hasPitot {
		m.Fail(document.CodeMissing, "static", "a static or a pitot test is needed")
	}
	if in.Err() == nil && hasPitot && a.pitot == lineNone {
		m.Fail(document.CodeConflict, "pitot_line", "there is no pitot line to test")
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	wait := float64(minutes.Float() * 60)
	a.begin()
	if hasStatic {
		start := static.Number("start_ft")
		point := airPoint{
			test: "static-leak", id: "static", name: "static system from " + ft(start),
			pair: "static.start", loss: true, minutes: minutes,
		}
		limit, _, err := airdata.ISO().StaticLeakLimit(static.NumberOr("cabin_psi", 0))
		if err != nil {
			static.Fail(
				document.CodeRange, "cabin_psi",
				"the differential must leave a pressure inside the standard atmosphere",
			)
		}
		point.limit, point.limited, point.source, point.memory = exactFeet(limit), true, airdata.StaticLeakSource, true
		if static.Has("limit_ft") {
			point.limit, point.source, point.memory = decimal(static, "limit_ft"), a.source, false
		} else {
			static.Raw("limit_ft")
		}
		a.screen()
		a.climbTo("static.set", static.Path("start_ft"), start, 0, "Then shut the line in, without pumping")
		a.hold("static.settle", a.settle)
		a.leak(&point, "ft", wait)
		a.screen()
		a.climbTo(
			"static.back", "method.static", a.fieldFeet(), 0,
			"Back to the measured pressure of the field, both lines together",
		)
	}
	if hasPitot {
		start := pitot.NumberOr("start_kt", 150)
		point := airPoint{
			test: "pitot-leak", id: "pitot", name: "pitot system from " + work.Shortly(start) + " kt",
			pair: "pitot.start", loss: true, minutes: minutes,
		}
		point.limit, point.limited, point.source = exactFeet(airdata.PitotLeakLimit()), true, airdata.PitotLeakSource
		if pitot.Has("limit_kt") {
			point.limit, point.source = decimal(pitot, "limit_kt"), a.source
		} else {
			pitot.Raw("limit_kt")
		}
		a.screen()
		if at, ok := pitot.Optional("at_ft"); ok {
			a.climbTo("pitot.at", pitot.Path("at_ft"), at, 0, "")
		}
		a.pitot, a.judged = lineControlled, "kt"
		a.speedTo("pitot.set", pitot.Path("start_kt"), start, "Slowly, no more than that; then clamp the line")
		a.hold("pitot.settle", a.settle)
		a.leak(&point, "kt", wait)
		a.judged = "ft"
	}
	a.finish()
	return a, in.Err()
}

// leak asks for a reading at the beginning and at the end of the wait.
func (a *airPlan) leak(p *airPoint, unit string, wait float64) {
	from, now := a.now.Feet, "At the beginning"
	if unit == "kt" {
		from = a.now.Knots
	}
	a.step(
		work.Step{ID: p.pair, Do: "read", Target: work.Shortly(from), Unit: unit, Of: "indicated", Text: now},
		work.SecondsToRead,
	)
	a.screen()
	a.hold(p.id+".wait", wait)
	end := p.figures()
	if total := p.limit.Mul(p.minutes); p.limited { // the limit is per minute
		end.ChangeLimit, _ = total.Text(3)
	}
	a.step(
		work.Step{ID: p.id, Do: "read", Unit: unit, Of: "indicated", Text: "At the end of the wait", Figures: end},
		work.SecondsToRead,
	)
	a.judge(*p)
}
