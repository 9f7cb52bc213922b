package calc

import (
	"strconv"

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
	secondsToRemount  = 300
)

// plan collects steps; those of one screen are shown together.
type plan struct {
	out     *document.Writer
	screen  int
	seconds float64
	label   string // of the run: as found, as left or repeat
	once    bool   // its as-found may not be done twice
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
	text      string

	// of steps that a gauge's plan does not have
	name     string  // under which a value is known to the evaluation
	as       string  // ask: number, yes, text or photo
	rate     string  // ramp and set: per second, in unit
	until    string  // ramp: contact or drop
	within   string  // settle: half of the band, in unit
	atMost   float64 // settle: the longest wait in seconds
	every    float64 // read: many values, one each so many seconds
	many     bool    // read: any number of values, ended by a tick
	trace    bool    // read: a logger's record may take the place of typed values
	optional bool    // nothing is missing without it

	way string    // set: up or down, of a plan without series
	air *airState // set: what stands at pitot-static instruments
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
	} else if s.way != "" {
		p.out.Text("direction", s.way)
	}
	if s.target != "" {
		p.out.Text("target", s.target)
	}
	if s.unit != "" {
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
	for _, f := range [...][2]string{{"text", s.text}, {"name", s.name}, {"as", s.as}, {"rate", s.rate}, {"until", s.until}, {"within", s.within}} {
		if f[1] != "" {
			p.out.Text(f[0], f[1])
		}
	}
	if s.atMost > 0 {
		p.out.Number("at_most_s", s.atMost)
	}
	if s.every > 0 {
		p.out.Number("every_s", s.every)
	}
	for _, f := range [...]struct {
		name string
		on   bool
	}{{"many", s.many}, {"trace", s.trace}, {"optional", s.optional}} {
		if f.on {
			p.out.Flag(f.name, true)
		}
	}
	if s.air != nil {
		p.out.Number("altitude_ft", s.air.feet)
		p.out.Number("cas_kt", s.air.knots)
		p.out.Number("static_pa", s.air.static)
		p.out.Number("impact_pa", s.air.impact)
	}
	p.out.End()
}

// expandGauge lays out a gauge's method.
//
// A gauge's plan exercises it, vents and proves zero, then for every series and point sets the pressure (at zero of a gauge it vents), waits and
// reads; it ends vented.
func expandGauge(in *document.Reader, p *plan) error {
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
	top, _ := it.high.Text(12)
	if m.exercise > 0 {
		p.preload("exercise", m, it, m.exercise, top)
		p.screen++
	}
	p.step(planStep{id: "vent.start", do: "vent"})
	p.seconds += secondsToVent
	for _, a := range m.readings() {
		p.screen++
		p.between(a, m, it, top)
		p.reading(a, m, it)
	}
	p.screen++
	p.step(planStep{id: "vent.end", do: "vent"})
	p.seconds += secondsToVent
	return nil
}

// preload asks to go to full scale and back some times, each time held at the top.
func (p *plan) preload(id string, m method, it item, count int, top string) {
	p.step(planStep{id: id, do: "exercise", target: top, unit: it.spelling, count: count, seconds: m.preload})
	p.seconds += float64(float64(count) * (secondsToExercise + m.preload))
}

// between asks for what comes before a series other than the first: the rest at zero, or the new mounting, and its preloads.
func (p *plan) between(a asked, m method, it item, top string) {
	if !a.begins || a.series == 1 && a.up {
		return
	}
	id := "s" + strconv.Itoa(a.series) + "." + word(a.up)
	remount := a.of != nil && a.of.remount
	if remount {
		p.step(planStep{id: id + ".open", do: "vent"})
		p.step(planStep{id: id + ".remount", do: "note", text: "With no pressure in the system, take the instrument off, turn it a little and mount it again as before. Check for tightness."})
		p.seconds += secondsToVent + secondsToRemount
		p.screen++
	}
	if a.of != nil && a.of.exercise > 0 {
		p.preload(id+".exercise", m, it, a.of.exercise, top)
		p.screen++
	}
	if remount || a.of != nil && a.of.exercise > 0 {
		p.step(planStep{id: id + ".zero", do: "vent"})
		p.seconds += secondsToVent
	}
	if m.rest > 0 && (a.up || remount) {
		p.step(planStep{id: id + ".rest", do: "hold", seconds: m.rest})
		p.seconds += m.rest
	}
	if remount || a.of != nil && a.of.exercise > 0 || m.rest > 0 && a.up {
		p.screen++
	}
}

func (p *plan) reading(a asked, m method, it item) {
	s := planStep{series: a.series, direction: word(a.up), point: a.point}
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
	} else if it.output != nil {
		read.target, read.unit = "", it.output.Unit // what is typed is the signal
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
