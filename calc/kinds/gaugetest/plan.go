package gaugetest

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// expand lays out a gauge's method.
//
// The plan exercises the gauge, vents and checks zero. Then for every series and point it sets the
// pressure (at a gauge's zero it vents), waits and reads. It ends vented.
func expand(in *document.Reader, p *work.Plan) error {
	inside := in.Object("instrument")
	it := readItem(inside)
	if err := in.Err(); err != nil {
		return err
	}
	m := readMethod(in.Object("method"), it)
	for _, r := range []*document.Reader{inside, m.document} { // fields of the evaluation
		r.Raw("temperature_coefficient_percent_per_k")
		r.Raw("reference_temperature_c")
		r.Raw("repeatability_percent")
	}
	if m.decision != nil {
		work.Skim(m.decision)
	}
	it.air = readAir(in, it)
	top, _ := it.high.Text(12)
	if beside, ok := in.OptionalObject("manifold"); ok {
		top = readTop(beside, m, it, top)
	}
	var limit *gauge.Limit
	if it.limit != nil {
		l := gauge.ReadLimit(it.limit, it.low, it.high, it.output)
		limit = &l
	}
	if err := in.Err(); err != nil {
		return err
	}
	p.Circuit = it.output != nil
	p.At = work.Standing{Mode: it.mode, Zero: it.unit, Own: it.spelling}
	if in.Has("manifold") { // its lowest range bounds all that stand there
		p.At.Top = top
	} else {
		p.At.Top, _ = it.high.Text(9)
		p.At.Overload = it.overload
	}
	if it.output != nil {
		p.Step(work.Step{ID: "loop", Do: "note", Text: loopOpen[it.output.Unit]})
		p.Screen++
	}
	if m.exercise > 0 {
		planPreload(p, "exercise", m, it, m.exercise, top)
		p.Screen++
	}
	p.Step(work.Step{ID: "vent.start", Do: "vent"})
	p.Seconds += work.SecondsToVent
	list := m.readings()
	for _, a := range list {
		p.Screen++
		planBetween(p, a, m, it, top)
		planReading(p, a, m, it, limit, list[len(list)-1].series)
	}
	p.Screen++
	p.Step(work.Step{ID: "vent.end", Do: "vent"})
	p.Seconds += work.SecondsToVent
	if it.output != nil {
		p.Screen++
		p.Step(
			work.Step{ID: "loop.end", Do: "note", Text: "Take the meter out and close the loop. See the signal back at the control room before the loop goes back to automatic."},
		)
	}
	return nil
}

// loopOpen has instructions for reaching a transmitter's signal, by its unit: common practice, no
// source.
var loopOpen = map[string]string{
	"mA": "Tell the control room and put the loop in manual: its trips may act. Connect the meter in series with the loop, or across the test terminals. Where the area is classified, open no circuit without its permit.",
	"V":  "Tell the control room and put the loop in manual: its trips may act. Connect the meter across the output.",
}

// planPreload asks for count trips to full scale and back, each held at the top.
func planPreload(p *work.Plan, id string, m method, it item, count int, top string) {
	step := work.Step{ID: id, Do: "exercise", Target: top, Unit: it.spelling, Count: count, Seconds: m.preload}
	if it.air != nil {
		highest, _ := numeric.ParseExact(top)
		step.Figures = &work.Figures{AtStandard: it.atStandard(highest)}
	}
	p.Step(step)
	p.Seconds += float64(float64(count) * (work.SecondsToExercise + m.preload))
}

// planBetween writes the steps before every series but the first: the rest at zero, or the new
// mounting with its preloads.
func planBetween(p *work.Plan, a asked, m method, it item, top string) {
	if !a.begins || a.series == 1 && a.up {
		return
	}
	id := "s" + strconv.Itoa(a.series) + "." + work.Direction(a.up)
	remount := a.of != nil && a.of.remount
	if remount {
		p.Step(work.Step{ID: id + ".open", Do: "vent"})
		p.Step(
			work.Step{ID: id + ".remount", Do: "note", Text: "With no pressure in the system, take the instrument off, turn it a little and mount it again as before. Check for tightness."},
		)
		p.Seconds += work.SecondsToVent + work.SecondsToRemount
		p.Screen++
	}
	if a.of != nil && a.of.exercise > 0 {
		planPreload(p, id+".exercise", m, it, a.of.exercise, top)
		p.Screen++
	}
	if remount || a.of != nil && a.of.exercise > 0 {
		p.Step(work.Step{ID: id + ".zero", Do: "vent"})
		p.Seconds += work.SecondsToVent
	}
	if m.rest > 0 && (a.up || remount) {
		p.Step(work.Step{ID: id + ".rest", Do: "hold", Seconds: m.rest})
		p.Seconds += m.rest
	}
	if remount || a.of != nil && a.of.exercise > 0 || m.rest > 0 && a.up {
		p.Screen++
	}
}

// readTop returns how high an exercise goes on a manifold: to the lowest upper range limit of the
// gauges on it. It refuses a point above that, and a method that only works for a single gauge.
func readTop(beside *document.Reader, m method, it item, own string) string {
	high, unit := beside.Decimal("high").Text, units.Of(beside, "unit", units.Pressure)
	most, ok := numeric.ParseExact(high)
	if beside.Err() != nil {
		return own
	}
	if !ok {
		beside.Fail(document.CodeRange, "high", "the number is too long or its exponent too large")
		return own
	}
	most = it.unit.ExactFromSI(unit.ExactSI(most))
	for _, point := range m.points {
		if x, ok := numeric.ParseExact(point); ok && x.Cmp(most) > 0 {
			beside.Fail(document.CodeRange, "high", "a point of the method lies above the lowest range on the manifold")
		}
	}
	switch {
	case m.pointerSet:
		beside.Fail(document.CodeConflict, "high", "on a manifold the pressure is set, not the pointer of one gauge")
	case most.Cmp(it.high) < 0:
		rounded, _ := numeric.ParseExact(most.Decimal(6))
		own, _ = rounded.Text(12)
	}
	return own
}

// readAir reads the pressure of the air for a plan with a gauge standard beside a barometer, in the
// instrument's unit; nil if there is none.
func readAir(in *document.Reader, it item) *numeric.Exact {
	hpa, ok := in.Optional("air_hpa")
	switch {
	case !ok || in.Err() != nil:
		return nil
	case it.mode != "absolute":
		in.Fail(document.CodeConflict, "air_hpa", gauge.OnlyAbsolute)
		return nil
	case !gauge.IsAir(float64(hpa * 100)):
		in.Fail(document.CodeRange, "air_hpa", gauge.NoAir)
		return nil
	}
	air := gauge.AirIn(float64(hpa*100), it.unit.Factor)
	return &air
}

// shown returns what a gauge standard shows at an absolute pressure, to a tenth of a pascal.
func shown(absolute, air numeric.Exact, it item) string {
	digits := 0
	for step := 0.1 / it.unit.Factor; step < 0.999 && digits < 12; digits++ {
		step = float64(10 * step)
	}
	rounded, _ := numeric.ParseExact(absolute.Sub(air).Decimal(digits))
	s, _ := rounded.Text(12)
	return s
}

// atStandard returns what a gauge standard shows at a pressure of the instrument, "" if the
// standard measures the same pressure as the instrument.
func (it *item) atStandard(absolute numeric.Exact) string {
	if it.air == nil {
		return ""
	}
	return shown(absolute, *it.air, *it)
}

// fromAir converts the permissible reading from absolute pressure to gauge pressure.
func fromAir(f *work.Figures, air numeric.Exact, it item) {
	f.About -= air.Float()
	for _, end := range []*string{&f.Low, &f.High} {
		if x, ok := numeric.ParseExact(*end); ok {
			*end = shown(x, air, it)
		}
	}
}

func planReading(p *work.Plan, a asked, m method, it item, limit *gauge.Limit, cycles int) {
	s := work.Step{Series: a.series, Direction: work.Direction(a.up), Point: a.point}
	with := func(id, do string) work.Step {
		one := s
		one.ID, one.Do = id, do
		return one
	}
	x, _ := numeric.ParseExact(a.target)
	set := with(a.step+".set", "set")
	if it.mode == "gauge" && x.Sign() == 0 {
		set = with(a.step+".vent", "vent")
	}
	set.Target, set.Unit = a.target, it.spelling
	beside := it.atStandard(x)
	if cycles > 1 || beside != "" {
		set.Figures = &work.Figures{AtStandard: beside}
	}
	if cycles > 1 {
		set.Cycle, set.Cycles, set.CycleOf = a.series, cycles, "cycle"
	}
	p.Step(set)
	p.Seconds += work.SecondsToSet
	wait := m.hold
	if a.point == len(m.points)-1 && a.up && m.top > wait {
		wait = m.top
	}
	if wait > 0 {
		hold := with(a.step+".hold", "hold")
		hold.Seconds = wait
		p.Step(hold)
		p.Seconds += wait
	}
	read := with(a.step, "read")
	read.Target, read.Unit, read.Of = a.target, it.spelling, "indicated"
	if m.pointerSet {
		read.Of = "applied"
	} else if it.output != nil {
		read.Target, read.Unit = "", it.output.Unit // the typed value is the signal
	}
	read.Figures = may(x, it, limit)
	switch {
	case it.air != nil && m.pointerSet: // the typed value is the standard's reading
		read.Target, read.Text = shown(x, *it.air, it), "Type what the gauge standard shows, against the air."
		fromAir(read.Figures, *it.air, it)
	case it.air != nil:
		read.AtStandard = beside
	}
	if read.Target == "" {
		read.Title = a.target + " " + it.spelling
	}
	p.Step(read)
	p.Seconds += work.SecondsToRead
	if m.tap {
		p.Seconds += work.SecondsToTap
	}
}

// may returns what a gauge or transmitter may show at a point by its limit, and for a signal what
// it should show.
func may(point numeric.Exact, it item, limit *gauge.Limit) *work.Figures {
	f := &work.Figures{About: point.Float()}
	about, read := point, point
	if it.output != nil {
		about = it.output.Ideal(point, it.low, it.high)
		read = about.Sub(it.output.Low)
		f.Expected = about.Decimal(signalDigits)
	}
	if limit == nil {
		return f
	}
	off, judged := limit.At(point, read)
	if !judged {
		f.Unjudged = true
		return f
	}
	f.Low, f.High = work.Span(about, off)
	f.Off = off.Float()
	if it.output != nil {
		f.Low, f.High = about.Sub(off).Decimal(signalDigits), about.Add(off).Decimal(signalDigits)
		f.Off = 0
		if !it.output.SquareRoot { // else a limit in the signal has no single pressure
			f.Off = float64(off.Float()*it.high.Sub(it.low).Float()) / it.output.High.Sub(it.output.Low).Float()
		}
	}
	return f
}

// signalDigits is the number of decimals of a signal in mA or V.
const signalDigits = 4
