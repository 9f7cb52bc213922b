package pitotstatic

import (
	"strconv"
	"strings"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// altimeterTests are the tests of an altimeter in the order of 14 CFR Part 43 Appendix E (b)(1),
// and the points for reduced vertical separation.
var altimeterTests = [...]string{
	airdata.TestScale, airdata.TestHysteresis, airdata.TestAfterEffect, airdata.TestFriction, airdata.TestCaseLeak, airdata.TestBarometric, airdata.TestSeparation,
}

// How long a point is held. Source: 14 CFR Part 43 Appendix E (b)(1)(i) from memory, (ii).
const (
	holdScale, holdHysteresis = 60, 300
	caseLeakAt                = 18000 // ft, (b)(1)(v)
)

// airRow is a point with its own limit, or with that of the rule.
type airRow struct {
	at      float64
	text    string // as written
	limit   numeric.Exact
	limited bool
	own     bool // stated by the method
	field   string
}

// readRows reads a method's list of points, or takes the rule's rows between two bounds. Points
// must rise.
func (a *airPlan) readRows(
	m *document.Reader, list, point, limit string, rule []airdata.Listed, low, high float64,
) []airRow {
	var rows []airRow
	if !m.Has(list) {
		m.Raw(list)
		for _, r := range rule {
			if r.At >= low && r.At <= high {
				e, _ := numeric.ExactOf(r.Feet)
				rows = append(rows, airRow{r.At, work.Shortly(r.At), e, true, false, "method." + list})
			}
		}
		return rows
	}
	for i, r := range m.List(list) {
		d := r.Decimal(point)
		row := airRow{at: d.Value, text: d.Text, field: r.Path(point)}
		if r.Has(limit) {
			row.limit, row.own, row.limited = decimal(r, limit), true, true
			if r.Err() == nil && row.limit.Sign() <= 0 && limit != "difference_ft" {
				r.Fail(document.CodeRange, limit, "must be above zero")
			}
		} else {
			r.Raw(limit)
			for _, one := range rule {
				if one.At == row.at {
					e, _ := numeric.ExactOf(one.Feet)
					row.limit, row.limited = e, true
				}
			}
		}
		if r.Err() == nil && i > 0 && row.at <= rows[i-1].at {
			r.Fail(document.CodeRange, point, "the points must rise")
		}
		if r.Err() == nil && !row.limited {
			r.Fail(
				document.CodeMissing, limit,
				"no limit is listed for "+d.Text+"; state one, from the manual of the instrument",
			)
		}
		rows = append(rows, row)
	}
	if m.Err() == nil && len(rows) == 0 || len(rows) > 100 {
		m.Fail(document.CodeRange, list, "from 1 to 100 points are needed")
	}
	return rows
}

func decimal(r *document.Reader, name string) numeric.Exact {
	d := r.Decimal(name)
	x, ok := numeric.ParseExact(d.Text)
	if !ok && r.Err() == nil {
		r.Fail(document.CodeRange, name, "the number is too long or its exponent too large")
	}
	return x
}

// rule gives a point the limit that the method states, else that of the rule.
func (a *airPlan) rule(m *document.Reader, field, test string, p *airPoint) {
	feet, source, memory := airdata.Rule(test)
	p.limit, _ = numeric.ExactOf(feet)
	p.limited, p.source, p.memory = true, source, memory
	if m.Has(field) {
		p.limit, p.source, p.memory = decimal(m, field), a.source, false
		if m.Err() == nil && p.limit.Sign() <= 0 {
			m.Fail(document.CodeRange, field, "must be above zero")
		}
		return
	}
	m.Raw(field)
}

// of gives a point the limit of its row.
func (a *airPlan) of(r *airRow, test string, p *airPoint) {
	_, source, memory := airdata.Rule(test)
	p.limit, p.limited, p.source, p.memory = r.limit, true, source, memory
	if r.own {
		p.source, p.memory = a.source, false
	}
}

func exactFeet(x float64) numeric.Exact {
	e, _ := numeric.ExactOf(x)
	return e
}

// layAltimeter lays out the tests of an altimeter.
func layAltimeter(in *document.Reader, p *work.Plan) (*airPlan, error) {
	a, m := newAir(in, p, units.Length, "ft")
	a.pitot = m.ChoiceOr("pitot", lineTied, lineOpen, lineNone)
	var wanted [len(altimeterTests)]bool
	if m.Has("tests") {
		for _, name := range m.Texts("tests") {
			known := false
			for i, t := range altimeterTests {
				if t == name {
					known, wanted[i] = true, true
				}
			}
			if m.Err() == nil && !known {
				m.Fail(document.CodeRange, "tests", "there is no test called "+document.Quote(name))
			}
		}
	} else {
		m.Raw("tests")
		for i := range wanted[:len(wanted)-1] {
			wanted[i] = true
		}
	}
	top := m.NumberOr("highest_ft", a.highest)
	if m.Err() == nil && m.Has("highest_ft") {
		a.bears("method.highest_ft", top, 0)
	}
	rows := a.readRows(m, "scale", "ft", "tolerance_ft", airdata.Rows(airdata.TestScale), a.lowest, top)
	friction := a.readRows(
		m, "friction", "ft", "tolerance_ft", airdata.Rows(airdata.TestFriction),
		max(a.lowest, a.fieldFeet()), top,
	)
	baro := a.readRows(m, "barometric", "inhg", "difference_ft", airdata.Rows(airdata.TestBarometric), 0, 40)
	if err := in.Err(); err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		m.Fail(document.CodeRange, "highest_ft", "no point of the scale lies in the instrument's range")
		return nil, in.Err()
	}
	highest := rows[len(rows)-1].at
	half, low := float64(highest/2), float64(highest*4)/10
	if wanted[1] && low < rows[0].at {
		m.Fail(
			document.CodeRange, "scale",
			"hysteresis is read at 50 % and 40 % of the highest point, which must lie within the scale",
		)
	}
	hysteresis, after, leak := airPoint{
		test: airdata.TestHysteresis, down: true,
	}, airPoint{test: airdata.TestAfterEffect}, airPoint{test: airdata.TestCaseLeak}
	a.rule(m, "hysteresis_ft", airdata.TestHysteresis, &hysteresis)
	a.rule(m, "after_effect_ft", airdata.TestAfterEffect, &after)
	a.rule(m, "case_leak_ft", airdata.TestCaseLeak, &leak)
	deviation := airPoint{test: airdata.TestBarometric}
	a.rule(m, "barometric_ft", airdata.TestBarometric, &deviation)

	a.begin()
	if wanted[2] {
		a.read(
			"original", "",
			"With 29.92 inHg (1013.2 hPa) set: the altimeter at the field's pressure, before anything is moved",
		)
	}
	if wanted[0] || wanted[1] {
		a.ascend(rows, wanted[0], wanted[1], half, low)
	}
	if wanted[1] {
		a.descend(half, low, highest, hysteresis)
	}
	if wanted[2] {
		a.screen()
		a.climbTo(
			"after.set", "method.scale", a.fieldFeet(), 0,
			"Within 5 minutes back to the measured pressure of the field, both lines together",
		)
		a.step(
			work.Step{
				ID: "after.field", Do: "ask", As: "number", Name: "after_field", Unit: "hPa",
				Text: "Pressure at the field now, in hPa",
			},
			work.SecondsToRead,
		)
		after.id, after.name, after.pair, after.ambient = "after", "after effect", "original", true
		a.readFor("after", "", "After effect: the altimeter again, 29.92 inHg set", &after)
		a.judge(after)
	}
	if wanted[3] {
		a.frictions(friction)
	}
	if wanted[4] {
		a.caseLeak(leak, top)
	}
	if wanted[5] {
		a.barometric(baro, deviation)
	}
	if r, ok := m.OptionalObject("rvsm"); ok {
		if wanted[6] {
			a.separation(r)
		} else {
			work.Skim(r)
		}
	} else if wanted[6] {
		m.Fail(document.CodeMissing, "rvsm", "the points and the aircraft's group are needed")
	}
	a.finish()
	return a, in.Err()
}

// ascend goes up through the points of the scale, and through those that the hysteresis test
// compares with.
func (a *airPlan) ascend(rows []airRow, scale, hysteresis bool, half, low float64) {
	all := rows
	if hysteresis {
		for _, extra := range []float64{low, half} {
			at := 0
			for at < len(all) && all[at].at < extra {
				at++
			}
			if at < len(all) && all[at].at == extra {
				continue
			}
			merged := append([]airRow(nil), all[:at]...)
			merged = append(merged, airRow{at: extra, text: work.Shortly(extra), field: "method.scale"})
			all = append(merged, all[at:]...)
		}
	}
	for i := range all {
		r := &all[i]
		if !scale && r.at != half && r.at != low && i != len(all)-1 {
			continue
		}
		id := "scale." + mark(r.at)
		a.screen()
		a.climbTo(id+".set", r.field, r.at, 0, "")
		a.hold(id+".hold", holdScale)
		p := airPoint{test: airdata.TestScale, id: id, name: "scale " + ft(r.at), show: exactFeet(r.at), reading: true}
		if r.limited && scale {
			a.of(r, airdata.TestScale, &p)
		}
		a.readFor(id, r.text, "", &p)
		a.judge(p)
	}
}

// descend reads at half and at two fifths of the highest altitude.
func (a *airPlan) descend(half, low, highest float64, p airPoint) {
	for i, at := range []float64{half, low} {
		p.id = "hysteresis." + mark(at)
		p.name, p.pair = "hysteresis "+strconv.Itoa(50-10*i)+" %, "+ft(at), "scale."+mark(at)
		a.screen()
		a.climbTo(p.id+".set", "method.scale", at, 0, "Down within 15 minutes of the first "+ft(highest))
		seconds := float64(holdHysteresis)
		if i == 1 {
			seconds = holdScale
		}
		a.hold(p.id+".hold", seconds)
		a.readFor(p.id, work.Shortly(at), "", &p)
		a.judge(p)
	}
}

func (a *airPlan) frictions(rows []airRow) {
	for i := range rows {
		r := &rows[i]
		id := "friction." + mark(r.at)
		a.screen()
		a.climbTo(
			id+".set", r.field, r.at, frictionClimb,
			"Slowly, about 750 ft/min; read as it passes, before and after vibration",
		)
		a.read(id+".before", r.text, "Before vibration")
		p := airPoint{test: airdata.TestFriction, id: id, name: "friction " + ft(r.at), pair: id + ".before"}
		a.of(r, airdata.TestFriction, &p)
		a.readFor(id, r.text, "After vibration", &p)
		a.judge(p)
	}
}

// caseLeak shuts off the case at the rule's altitude, or at the highest one allowed if that is
// lower.
func (a *airPlan) caseLeak(p airPoint, top float64) {
	at := min(caseLeakAt, top)
	a.screen()
	a.climbTo("leak.set", "method.highest_ft", at, 0, "Then shut the line in")
	a.hold("leak.settle", a.settle)
	a.read("leak.start", "", "Case leak: at the beginning of the minute")
	a.screen()
	a.hold("leak.wait", 60)
	p.id, p.name, p.pair, p.loss, p.minutes = "leak", "case leak at "+ft(at), "leak.start", true, numeric.ExactInt(1)
	a.readFor("leak", "", "Case leak: after one minute", &p)
	a.judge(p)
}

func (a *airPlan) barometric(rows []airRow, p airPoint) {
	a.screen()
	a.climbTo(
		"barometric.set", "method.barometric", a.fieldFeet(), 0,
		"Back to the measured pressure of the field, both lines together",
	)
	a.read("barometric.reference", "", "Set "+a.setting("29.92")+" and read")
	for i := range rows {
		r := &rows[i]
		if r.at == 29.92 {
			continue
		}
		a.screen()
		p.id, p.name, p.pair, p.shift = "barometric."+strconv.Itoa(i), "barometric scale "+a.setting(r.text), "barometric.reference", r.limit
		a.readFor(p.id, "", "Set "+a.setting(r.text)+" and read", &p)
		a.judge(p)
	}
}

// setElsewhere reports whether a step reads the altimeter with another setting than 29.92 inHg.
func setElsewhere(step string) bool {
	return strings.HasPrefix(step, "barometric.") && step != "barometric.reference"
}

// setting writes a subscale setting in the instrument's unit.
func (a *airPlan) setting(inHg string) string {
	x, _ := numeric.ParseExact(inHg)
	inHg = x.Decimal(2)
	if !a.hectopascals {
		return inHg + " inHg"
	}
	u, _ := units.Find("inHg")
	q, _ := u.ExactSI(x).Div(numeric.ExactInt(100))
	return q.Decimal(1) + " hPa (" + inHg + " inHg)"
}

// separation reads at the altitudes of reduced vertical separation. For an aircraft outside a
// group, the error of each point counts with the residual static source error. For one of a group
// it is only reported, since the group's mean and spread decide, unless the method states what its
// approval allows this altimeter.
func (a *airPlan) separation(r *document.Reader) {
	groups := [...]airdata.Group{
		airdata.NonGroupBasic, airdata.NonGroupFull, airdata.EarlierBasic, airdata.EarlierFull,
		airdata.LaterFull,
	}
	group := r.Choice(
		"group", string(groups[0]), string(groups[1]), string(groups[2]), string(groups[3]),
		string(groups[4]),
	)
	residual := numeric.Exact{}
	if r.Has("residual_ft") {
		residual = decimal(r, "residual_ft").Abs()
	} else {
		r.Raw("residual_ft")
	}
	own := r.Has("limit_ft")
	stated := numeric.Exact{}
	if own {
		if stated = decimal(r, "limit_ft"); r.Err() == nil && stated.Sign() <= 0 {
			r.Fail(document.CodeRange, "limit_ft", "must be above zero")
		}
	} else {
		r.Raw("limit_ft")
	}
	mean, total, _ := airdata.SeparationLimits(airdata.Group(group))
	_, source, memory := airdata.Rule(airdata.TestSeparation)
	for _, at := range r.Numbers("points_ft") {
		id := "rvsm." + mark(at)
		a.screen()
		a.climbTo(id+".set", "method.rvsm.points_ft", at, 0, "")
		a.hold(id+".hold", holdScale)
		p := airPoint{
			test: airdata.TestSeparation, id: id, name: "RVSM " + ft(at), show: exactFeet(at), residual: residual,
		}
		switch {
		case own:
			p.limit, p.limited, p.source = stated, true, a.source
		case mean == 0:
			p.limit, p.limited, p.source, p.memory = exactFeet(total), true, source, memory
		}
		a.readFor(id, work.Shortly(at), "", &p)
		a.judge(p)
	}
}
