package calc

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/points"
	"gaugewright/calc/units"
)

// method is a gauge method as a document gives it.
type method struct {
	points     []string
	directions string
	cycles     int
	exercise   int
	tap        bool
	hold, top  float64
	pointerSet bool
	decision   *document.Reader
	document   *document.Reader
}

// item is the instrument's part that a plan and an evaluation need.
type item struct {
	unit       units.Unit
	spelling   string
	mode       string
	low, high  numeric.Exact
	resolution float64
	limit      *document.Reader
	output     *gauge.Output
}

func readItem(in *document.Reader) item {
	it := item{unit: units.Of(in, "unit", units.Pressure), spelling: in.Text("unit"), mode: in.ChoiceOr("mode", "gauge", "absolute", "differential")}
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
	m.exercise = in.WholeOr("exercise", 0, mostExercise, 0)
	m.tap = in.Flag("tap", false)
	m.hold, m.top = in.NumberOr("hold_s", 0), in.NumberOr("hold_top_s", 0)
	for _, h := range []struct {
		name string
		x    float64
	}{{"hold_s", m.hold}, {"hold_top_s", m.top}} {
		if in.Err() == nil && !(h.x >= 0 && h.x <= mostHold) {
			in.Fail(document.CodeRange, h.name, "must be from 0 to 3600 s")
		}
	}
	m.pointerSet = in.ChoiceOr("way", "applied-set", "pointer-set") == "pointer-set"
	if d, ok := in.OptionalObject("decision"); ok {
		m.decision = d
	}
	if in.Err() == nil && len(m.points)*2*m.cycles > 2000 {
		in.Fail(document.CodeRange, "points", "the plan would have more than 2000 readings")
	}
	m.rising(in)
	return m
}

// rising puts the points in rising order: that is the order in which they are approached.
func (m *method) rising(in *document.Reader) {
	if in.Err() != nil {
		return
	}
	for i := 1; i < len(m.points); i++ {
		for j := i; j > 0; j-- {
			a, _ := numeric.ParseExact(m.points[j-1])
			b, _ := numeric.ParseExact(m.points[j])
			if a.Cmp(b) <= 0 {
				break
			}
			m.points[j-1], m.points[j] = m.points[j], m.points[j-1]
		}
	}
}

// asked is one reading that a method asks for.
type asked struct {
	step   string
	series int
	up     bool
	point  int
	target string

	mounting int // from 1
}

// readings lists what a method asks for, in the order of the plan. The step's name is its series, direction and point, counted from 0.
func (m *method) readings() []asked {
	var list []asked
	for series := 1; series <= m.cycles; series++ {
		for _, up := range []bool{true, false} {
			if !up && m.directions == "up" {
				continue
			}
			for k := range m.points {
				i := k
				word := "up"
				if !up {
					i, word = len(m.points)-1-k, "down"
				}
				list = append(list, asked{"s" + strconv.Itoa(series) + "." + word + "." + strconv.Itoa(i), series, up, i, m.points[i], 1})
			}
		}
	}
	return list
}
