package calc

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// What a step takes besides its wait, for the estimate of the duration. Common practice, no source.
const (
	secondsToSet      = 15
	secondsToRead     = 8
	secondsToTap      = 3
	secondsToExercise = 30 // each time to full scale and back
	secondsToVent     = 20
)

// plan collects steps; those of one screen are shown together.
type plan struct {
	out     *document.Writer
	screen  int
	seconds float64
}

type planStep struct {
	id, do    string
	series    int
	direction string
	point     int
	target    string
	unit      string
	seconds   float64
	count     int
	of        string
}

func (p *plan) step(s planStep) {
	p.out.Begin()
	p.out.Text("id", s.id)
	p.out.Text("do", s.do)
	p.out.Whole("screen", p.screen)
	if s.series > 0 {
		p.out.Whole("series", s.series)
		p.out.Text("direction", s.direction)
		p.out.Whole("point", s.point)
	}
	if s.target != "" {
		p.out.Text("target", s.target)
		p.out.Text("unit", s.unit)
	}
	if s.seconds > 0 {
		p.out.Number("seconds", s.seconds)
	}
	if s.count > 0 {
		p.out.Whole("count", s.count)
	}
	if s.of != "" {
		p.out.Text("of", s.of)
	}
	p.out.End()
}

// expandDoor is the room expand: {method, instrument} → {steps, screens, duration_s}.
//
// A gauge's plan exercises it, vents and proves zero, then for every series and point sets the pressure (at zero of a gauge it vents), waits and
// reads; it ends vented.
func expandDoor(in *document.Reader, out *document.Writer) error {
	inside := in.Object("instrument")
	it := readItem(inside)
	if err := in.Err(); err != nil {
		return err
	}
	m := readMethod(in.Object("method"), it)
	for _, r := range []*document.Reader{inside, m.document} { // of the evaluation
		r.Raw("temperature_coefficient_percent_per_k")
		r.Raw("reference_temperature_c")
	}
	if m.decision != nil {
		skim(m.decision)
	}
	if it.limit != nil {
		skim(it.limit)
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("steps")
	p := &plan{out: out, screen: 1}
	top, _ := it.high.Text(12)
	if m.exercise > 0 {
		p.step(planStep{id: "exercise", do: "exercise", target: top, unit: it.spelling, count: m.exercise})
		p.seconds += float64(secondsToExercise * m.exercise)
		p.screen++
	}
	p.step(planStep{id: "vent.start", do: "vent"})
	p.seconds += secondsToVent
	for _, a := range m.readings() {
		p.screen++
		p.reading(a, m, it)
	}
	p.screen++
	p.step(planStep{id: "vent.end", do: "vent"})
	p.seconds += secondsToVent
	out.EndList()
	out.Whole("screens", p.screen)
	out.Number("duration_s", p.seconds)
	return nil
}

func (p *plan) reading(a asked, m method, it item) {
	word := "down"
	if a.up {
		word = "up"
	}
	s := planStep{series: a.series, direction: word, point: a.point}
	with := func(id, do string) planStep {
		one := s
		one.id, one.do = id, do
		return one
	}
	x, _ := numeric.ParseExact(a.target)
	set := with(a.step+".set", "set")
	if it.mode == "gauge" && x.Sign() == 0 {
		set = with(a.step+".vent", "vent")
	}
	set.target, set.unit = a.target, it.spelling
	p.step(set)
	p.seconds += secondsToSet
	wait := m.hold
	if a.point == len(m.points)-1 && a.up && m.top > wait {
		wait = m.top
	}
	if wait > 0 {
		hold := with(a.step+".hold", "hold")
		hold.seconds = wait
		p.step(hold)
		p.seconds += wait
	}
	read := with(a.step, "read")
	read.target, read.unit, read.of = a.target, it.spelling, "indicated"
	if m.pointerSet {
		read.of = "applied"
	}
	p.step(read)
	p.seconds += secondsToRead
	if m.tap {
		p.seconds += secondsToTap
	}
}

// skim marks every field of an object as known: another room reads it.
func skim(r *document.Reader) {
	for _, name := range r.Names() {
		r.Raw(name)
	}
}
