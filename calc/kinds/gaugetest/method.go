package gaugetest

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/points"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// method is a gauge method as read from a document.
type method struct {
	points     []string
	directions string
	cycles     int
	series     []series
	exercise   int
	preload    float64 // how long each is held at the top
	rest       float64 // wait at zero before each series after the first
	tap        bool
	hold, top  float64
	pointerSet bool
	decision   *document.Reader
	document   *document.Reader
}

// item is the part of the instrument that a plan and an evaluation need.
type item struct {
	unit       units.Unit
	spelling   string
	mode       string
	low, high  numeric.Exact
	resolution float64
	overload   string // the highest pressure that it is known to bear, in its unit; else ""
	limit      *document.Reader
	output     *gauge.Output
	air        *numeric.Exact // in a plan for a gauge standard beside a barometer, in the unit; else nil
}

func readItem(in *document.Reader) item {
	it := item{
		unit: units.Of(in, "unit", units.Pressure), spelling: in.Text("unit"),
		mode: in.ChoiceOr("mode", "gauge", "absolute", "differential"),
	}
	for _, f := range []struct {
		name string
		to   *numeric.Exact
	}{{"low", &it.low}, {"high", &it.high}} {
		d := in.Decimal(f.name)
		if in.Err() != nil {
			return it
		}
		x, ok := numeric.ParseExact(d.Text)
		if !ok {
			in.Fail(document.CodeRange, f.name, "the number is too long or its exponent too large")
			return it
		}
		*f.to = x
	}
	if it.low.Cmp(it.high) >= 0 {
		in.Fail(document.CodeRange, "high", "must lie above low")
	}
	it.resolution = in.NumberOr("resolution", 0)
	if in.Err() == nil && it.resolution < 0 {
		in.Fail(document.CodeRange, "resolution", "must not be below zero")
	}
	if overload, known := work.ReadOverload(in, it.high.Float()); known {
		it.overload = work.PressureText(overload)
	}
	if l, ok := in.OptionalObject("limit"); ok {
		it.limit = l
	}
	if o, ok := in.OptionalObject("output"); ok {
		it.output = gauge.ReadOutput(o)
	}
	return it
}

const (
	mostCycles   = 10
	mostExercise = 20
	mostHold     = 3600
)

func readMethod(in *document.Reader, it item) method {
	m := method{directions: "up-down", document: in}
	in.Choice("kind", "gauge")
	m.points = points.Read(in.Object("points"), it.low, it.high)
	m.directions = in.ChoiceOr("directions", "up-down", "up")
	m.cycles = in.WholeOr("cycles", 1, mostCycles, 1)
	if in.Has("series") {
		m.readSeries(in)
	}
	m.exercise = in.WholeOr("exercise", 0, mostExercise, 0)
	m.tap = in.Flag("tap", false)
	m.hold, m.top = in.NumberOr("hold_s", 0), in.NumberOr("hold_top_s", 0)
	m.preload, m.rest = in.NumberOr("exercise_hold_s", 0), in.NumberOr("rest_s", 0)
	for _, h := range []struct {
		name string
		x    float64
	}{{"hold_s", m.hold}, {"hold_top_s", m.top}, {"exercise_hold_s", m.preload}, {"rest_s", m.rest}} {
		if in.Err() == nil && !(h.x >= 0 && h.x <= mostHold) {
			in.Fail(document.CodeRange, h.name, "must be from 0 to 3600 s")
		}
	}
	m.pointerSet = in.ChoiceOr("way", "applied-set", "pointer-set") == "pointer-set"
	if d, ok := in.OptionalObject("decision"); ok {
		m.decision = d
	}
	if in.Err() == nil && len(m.points)*max(2*m.cycles, len(m.series)) > 2000 {
		in.Fail(document.CodeRange, "points", "the plan would have more than 2000 readings")
	}
	m.rising(in, it)
	return m
}

// series is one rise or fall through the points.
type series struct {
	up       bool
	remount  bool // the instrument is dismounted and mounted again before it
	exercise int  // times to full scale before it
	at       []int
	percents []numeric.Exact // per cent of span; replaces all points
}

// readSeries reads the series M1, M2 … one by one, in place of directions and cycles.
func (m *method) readSeries(in *document.Reader) {
	if in.Has("directions") || in.Has("cycles") {
		in.Fail(document.CodeConflict, "series", "give the series, or directions and cycles")
		return
	}
	list := in.List("series")
	if in.Err() == nil && (len(list) == 0 || len(list) > 2*mostCycles) {
		in.Fail(document.CodeRange, "series", "from 1 to 20 series are needed")
	}
	for i, r := range list {
		one := series{
			up: r.Choice("direction", "up", "down") == "up", remount: r.Flag("remount", false),
			exercise: r.WholeOr("exercise", 0, mostExercise, 0),
		}
		if in.Err() == nil && i == 0 && one.remount {
			r.Fail(document.CodeConflict, "remount", "the first series is of the first mounting")
		}
		if r.Has("percents") {
			for _, d := range r.Decimals("percents") {
				x, ok := numeric.ParseExact(d.Text)
				if in.Err() == nil && !ok {
					r.Fail(document.CodeRange, "percents", "the number is too long or its exponent too large")
				}
				one.percents = append(one.percents, x)
			}
		}
		m.series = append(m.series, one)
	}
}

// rising sorts the points in the order of their approach, and finds the points of series that have
// their own.
func (m *method) rising(in *document.Reader, it item) {
	if in.Err() != nil {
		return
	}
	values := make([]numeric.Exact, len(m.points))
	for i, p := range m.points {
		values[i], _ = numeric.ParseExact(p)
	}
	for i := 1; i < len(m.points); i++ {
		for j := i; j > 0 && values[j-1].Cmp(values[j]) > 0; j-- {
			m.points[j-1], m.points[j] = m.points[j], m.points[j-1]
			values[j-1], values[j] = values[j], values[j-1]
		}
	}
	for k := range m.series {
		s := &m.series[k]
		if s.percents == nil {
			for i := range m.points {
				s.at = append(s.at, i)
			}
			continue
		}
		for i := range values {
			for _, percent := range s.percents {
				part, _ := it.high.Sub(it.low).Mul(percent).Div(numeric.ExactInt(100))
				if values[i].Cmp(it.low.Add(part)) == 0 {
					s.at = append(s.at, i)
					break
				}
			}
		}
		if len(s.at) != len(s.percents) {
			in.Fail(
				document.CodeRange, "series["+strconv.Itoa(k)+"].percents",
				"names a point that the method does not have, or one twice",
			)
		}
	}
}

// asked is one reading that a method asks for.
type asked struct {
	step   string
	series int // the cycle, from 1
	up     bool
	point  int
	target string

	mounting int     // from 1
	of       *series // if the method names its series
	begins   bool    // first reading of its series
}

// readings lists what a method asks for, in the order of the plan. The step's name is its cycle
// from 1, its direction and its point from 0. A rising series begins a cycle. A falling one belongs
// to the cycle before it if that has no fall yet.
func (m *method) readings() []asked {
	var list []asked
	add := func(cycle, mounting int, up bool, at []int, of *series) {
		for k := range at {
			i := at[k]
			if !up {
				i = at[len(at)-1-k]
			}
			list = append(
				list,
				asked{
					"s" + strconv.Itoa(cycle) + "." + work.Direction(up) + "." + strconv.Itoa(i), cycle,
					up, i, m.points[i], mounting, of, k == 0,
				},
			)
		}
	}
	if m.series != nil {
		cycle, mounting, fallen := 0, 1, true
		for k := range m.series {
			s := &m.series[k]
			if s.remount {
				mounting++
			}
			if s.up || fallen || s.remount {
				cycle++
			}
			fallen = !s.up
			add(cycle, mounting, s.up, s.at, s)
		}
		return list
	}
	all := make([]int, len(m.points))
	for i := range all {
		all[i] = i
	}
	for cycle := 1; cycle <= m.cycles; cycle++ {
		add(cycle, 1, true, all, nil)
		if m.directions != "up" {
			add(cycle, 1, false, all, nil)
		}
	}
	return list
}
