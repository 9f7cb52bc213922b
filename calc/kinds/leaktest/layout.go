package leaktest

import (
	"math"
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/leak"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// Forms of a permissible leak.
const (
	limitNone   = ""
	limitSlope  = "limit_pa_s"
	limitRate   = "limit_pa_m3_s"
	limitEnd    = "limit_end"    // the pressure that must remain
	limitChange = "limit_change" // the mean change of the last two runs
)

// leakPhase is one test pressure of a leak test.
type leakPhase struct {
	name, id, field string // field is its path in the document
	target, spell   string
	unit            units.Unit
	pressure        float64 // in unit
	rise            bool
	rate            string
	fill, stabilise float64
	measure, every  float64
	runs            int
	form            string
	byRule          bool    // the limit comes from a rule and applies to the pressures as read
	limit, agree    float64 // for a slope in Pa/s, for a rate in Pa·m³/s, else in unit
	source          string
}

// leakWork is the layout of a leak test.
type leakWork struct {
	*work.Layout
	phases                 []leakPhase
	volume, volumeRel      float64 // 0 if not known
	added, addedRel        float64
	addedAt                string
	confidence, referenceK float64
	sccm                   float64 // °C
	uTemperature, uBaro    float64 // of one reading; −1 if not stated
	driftK, driftPaH       float64 // unmeasured drift, over the time and per hour, as standard uncertainties
	sensorTime             float64 // time constant of the sensor, s; −1 if not stated
	asksT, asksB           bool
	weakLow, weakHigh      float64
	part                   string
}

func expand(in *document.Reader, p *work.Plan) error {
	_, err := layLeakTest(in, p)
	return err
}

// layLeakTest reads a leak test's method and writes its plan.
func layLeakTest(in *document.Reader, p *work.Plan) (*leakWork, error) {
	l := &leakWork{
		Layout: work.NewLayout(in, p), confidence: 0.95, uTemperature: -1, uBaro: -1, sensorTime: -1,
		driftK: leak.UsualDriftK, driftPaH: leak.UsualDriftPaH,
	}
	l.particulars()
	m := l.Method
	l.asksT = m.ChoiceOr("temperature", "asked", "none") == "asked"
	l.asksB = m.ChoiceOr("barometer", "asked", "none") == "asked" && l.Gauge
	l.confidence = m.NumberOr("confidence", 0.95)
	l.referenceK = m.NumberOr("reference_temperature_c", 20) + units.ZeroCelsius
	l.sccm = m.NumberOr("sccm_temperature_c", 0)
	for _, f := range []struct {
		name string
		to   *float64
	}{
		{"u_temperature_k", &l.uTemperature}, {"u_barometer_pa", &l.uBaro}, {"drift_k", &l.driftK},
		{"drift_pa_h", &l.driftPaH}, {"sensor_time_s", &l.sensorTime},
	} {
		if x, ok := m.Optional(f.name); ok {
			*f.to = x
			if in.Err() == nil && x < 0 {
				m.Fail(document.CodeRange, f.name, "must not be below zero")
			}
		}
	}
	if d, ok := m.OptionalDecimal("added_pressure"); ok {
		l.addedAt = d.Text
	}
	switch {
	case in.Err() != nil:
	case l.Rule.Rule == conformity.Managed:
		m.Fail(document.CodeConflict, "decision.rule", "the managed guard band needs two limits; a leak has one")
	case !(l.confidence >= 0.5 && l.confidence <= 0.999):
		m.Fail(document.CodeRange, "confidence", "must be from 0.5 to 0.999")
	case !(l.referenceK > 200 && l.referenceK < 400):
		m.Fail(document.CodeRange, "reference_temperature_c", "must be from -73 to 126 °C")
	case !(l.sccm > -100 && l.sccm < 200):
		m.Fail(document.CodeRange, "sccm_temperature_c", "must be from -100 to 200 °C")
	}
	list := m.List("phases")
	if in.Err() == nil && (len(list) == 0 || len(list) > 8) {
		m.Fail(document.CodeRange, "phases", "from 1 to 8 phases are needed")
	}
	for i, r := range list {
		l.phase(i, r)
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	l.steps()
	return l, in.Err()
}

// particulars reads what is known about the system.
func (l *leakWork) particulars() {
	r := l.Parts
	for _, f := range []struct {
		name string
		to   *float64
	}{{"volume_m3", &l.volume}, {"added_volume_m3", &l.added}} {
		if r.Has(f.name) {
			*f.to = r.Positive(f.name)
		} else {
			r.Raw(f.name)
		}
	}
	l.volumeRel, l.addedRel = r.NumberOr("u_volume_rel", 0), r.NumberOr("u_added_rel", 0)
	if r.Err() == nil && !(l.volumeRel >= 0 && l.volumeRel < 1 && l.addedRel >= 0 && l.addedRel < 1) {
		r.Fail(document.CodeRange, "u_volume_rel", "relative uncertainties must be from 0 to below 1")
	}
	l.weakLow, l.weakHigh, l.part = l.Low, l.High, "the instrument's range"
	if w, ok := r.OptionalObject("weakest"); ok {
		l.part = w.TextOr("part", "the weakest part")
		l.weakLow, l.weakHigh = max(l.weakLow, w.NumberOr("low", l.weakLow)), min(l.weakHigh, w.Number("high"))
		l.Bears(l.weakHigh)
	}
}

// phase reads one test pressure.
func (l *leakWork) phase(i int, r *document.Reader) {
	n := leakPhase{
		id: "p" + strconv.Itoa(i+1), field: "method.phases[" + strconv.Itoa(i) + "]", unit: l.Unit,
		spell: l.Spelling, source: l.LimitSource,
	}
	n.name = r.TextOr("name", "phase "+strconv.Itoa(i+1))
	d := r.Decimal("pressure")
	n.target, n.pressure = d.Text, d.Value
	if r.Has("unit") {
		n.unit, n.spell = units.Of(r, "unit", units.Pressure), r.Text("unit")
	}
	if r.Has("mode") && (r.Choice("mode", "gauge", "absolute") == "gauge") != l.Gauge && r.Err() == nil {
		r.Fail(document.CodeConflict, "mode", "the sensor shows the other kind of pressure")
	}
	if d, ok := r.OptionalDecimal("rate"); ok {
		n.rate = d.Text
		if r.Err() == nil && d.Value <= 0 {
			r.Fail(document.CodeRange, "rate", "must be above zero")
		}
	}
	n.fill, n.stabilise, n.measure = l.Seconds(r, "fill_s", 0), l.Seconds(r, "stabilise_s", 0), l.Seconds(r, "measure_s", 0)
	n.every = l.Seconds(r, "every_s", 10)
	n.runs = r.WholeOr("runs", 1, 5, 1)
	l.limits(r, &n)
	own := l.Unit.FromSI(n.unit.ToSI(n.pressure))
	absolute := l.Absolute(own)
	switch {
	case r.Err() != nil:
	case n.measure < 2*n.every || n.every <= 0:
		r.Fail(document.CodeRange, "measure_s", "must hold two intervals between readings or more")
	case absolute < 0:
		r.Fail(document.CodeRange, "pressure", "lies below zero absolute: is it gauge or absolute?")
	case own < l.weakLow || own > l.weakHigh:
		r.Fail(document.CodeRange, "pressure", work.Figure(own)+" "+l.Spelling+" is more than "+l.part+" bears: "+work.Figure(l.weakLow)+" to "+work.Figure(l.weakHigh)+" "+l.Spelling)
	case math.Abs(absolute-l.Ambient) < 1:
		r.Fail(document.CodeRange, "pressure", "is that of the room: nothing would leak")
	}
	n.rise = absolute < l.Ambient
	l.phases = append(l.phases, n)
}

// limits reads the one permissible leak that a phase states.
func (l *leakWork) limits(r *document.Reader, n *leakPhase) {
	for _, form := range []string{limitSlope, limitRate, limitEnd, limitChange} {
		if !r.Has(form) {
			r.Raw(form)
			continue
		}
		x := r.Number(form)
		if r.Err() == nil && n.form != limitNone {
			r.Fail(document.CodeConflict, form, "give one limit")
		}
		if r.Err() == nil && form != limitEnd && x <= 0 {
			r.Fail(document.CodeRange, form, "must be above zero")
		}
		n.form, n.limit = form, x
	}
	if r.Has("agree_within") {
		n.agree = r.Positive("agree_within")
		if r.Err() == nil && (n.form != limitChange || n.runs < 2) {
			r.Fail(document.CodeConflict, "agree_within", "belongs to a limit of the change over two runs or more")
		}
	} else {
		r.Raw("agree_within")
	}
	rule := r.ChoiceOr("rule", "", "tp-201.3")
	if rule == "" {
		r.Raw("nozzles")
	} else {
		r.Choice("nozzles", "1-6")
		switch {
		case r.Err() != nil:
		case n.form != limitNone:
			r.Fail(document.CodeConflict, "rule", "give one limit")
		case l.volume <= 0:
			l.Parts.Fail(document.CodeMissing, "volume_m3", "this rule needs the volume of the gas space")
			r.Fail(document.CodeMissing, "rule", "this rule needs the volume of the gas space, volume_m3")
		default:
			n.form, n.limit = limitEnd, leak.FinalPressure(n.pressure, l.volume/units.Gallon)
			n.byRule, n.source = true, "California TP-201.3, equation 9-1, nozzles 1 to 6; the pressure as it is read, by that rule (from memory)"
		}
	}
	if r.Err() == nil && n.form == limitRate && l.volume <= 0 && l.added <= 0 {
		r.Fail(
			document.CodeMissing, limitRate,
			"a leak rate needs the volume: state volume_m3, or added_volume_m3 to measure it",
		)
	}
}

// run returns the prefix of the step ids of one run of a phase.
func (n *leakPhase) run(k int) string {
	if k == 1 {
		return n.id
	}
	return n.id + "r" + strconv.Itoa(k)
}

const leakCautions = "Stand aside of joints and glass, use a shield where a part could let go, raise the pressure in steps, and never tighten or loosen anything under pressure. " +
	"Every part must be rated for the test pressure and for the medium; oxygen parts stay free of oil. Set the relief before the first step. Vent and see zero before a joint is touched."

// steps writes the plan.
func (l *leakWork) steps() {
	for i := range l.phases {
		n := &l.phases[i]
		l.Store(n.name, l.volume, l.Absolute(l.Unit.FromSI(n.unit.ToSI(n.pressure))), l.heats(), 0)
	}
	if l.In.Err() != nil {
		return
	}
	l.Begin("The volume is not known, so the stored energy cannot be told: treat the system as dangerous.", leakCautions,
		"Is every part rated for the highest pressure of this test, is the relief set, and is the area clear?",
		"Do not raise or lower the pressure. Shut off the source, vent what is under pressure, and see zero. Then replace what is not rated, set the relief, or clear the area.")
	if l.added > 0 {
		l.volumeSteps()
	}
	for i := range l.phases {
		n := &l.phases[i]
		for k := 1; k <= n.runs; k++ {
			l.phaseSteps(n, k)
		}
	}
}

// heats returns the ratio of specific heats of the gas.
func (l *leakWork) heats() float64 {
	k := l.Parts.NumberOr("ratio_of_heats", 1.4)
	if l.In.Err() == nil && !(k > 1 && k < 2) {
		l.Method.Fail(document.CodeRange, "ratio_of_heats", "must be above 1 and below 2")
	}
	return k
}

func (l *leakWork) volumeSteps() {
	at := l.addedAt
	unit := l.Spelling
	if at == "" {
		at, unit = l.phases[0].target, l.phases[0].spell
	}
	l.Screen()
	l.Step(
		work.Step{
			ID: "v.set", Do: "set", Target: at, Unit: unit,
			Text: "To measure the volume: pressurise the system alone, the added volume shut off and vented.",
		},
		work.SecondsToSet,
	)
	l.Step(work.Step{ID: "v.hold", Do: "hold", Seconds: 60}, 60)
	l.Screen()
	l.Step(
		work.Step{
			ID: "v.p1", Do: "read", Of: "indicated", Unit: l.Spelling, Name: "system",
			Text: "Pressure of the system alone",
		},
		work.SecondsToRead,
	)
	l.Step(
		work.Step{
			ID: "v.pa", Do: "read", Of: "indicated", Unit: l.Spelling, Name: "added",
			Text: "Pressure in the added volume before it is joined",
		},
		work.SecondsToRead,
	)
	l.Step(
		work.Step{ID: "v.open", Do: "note", Text: "Open the valve between the two, slowly. Touch no joint."},
		work.SecondsToSet,
	)
	l.Step(work.Step{ID: "v.wait", Do: "hold", Seconds: 60}, 60)
	l.Step(
		work.Step{
			ID: "v.p2", Do: "read", Of: "indicated", Unit: l.Spelling, Name: "joined",
			Text: "Pressure of both together, at the same temperature",
		},
		work.SecondsToRead,
	)
	l.Screen()
	l.Step(
		work.Step{ID: "v.vent", Do: "vent", Text: "Vent both, see zero, and shut the added volume off again."},
		work.SecondsToVent,
	)
}

func (l *leakWork) phaseSteps(n *leakPhase, k int) {
	id := n.run(k)
	direction := "up"
	if n.rise {
		direction = "down"
	}
	l.Screen()
	if text := l.advice(n); text != "" && k == 1 {
		l.Step(work.Step{ID: id + ".plan", Do: "note", Text: text}, 0)
	}
	text := n.name + ": go there in steps, looking for a gross leak at each."
	if !n.rise {
		relief, first := leak.PneumaticTest(l.Absolute(l.Unit.FromSI(n.unit.ToSI(n.pressure))) - l.Ambient)
		text += " Look first at " + work.Figure(n.unit.FromSI(first)) + " " + n.spell + " above the room; the relief set at no more than " + work.Figure(n.unit.FromSI(relief)) + " " + n.spell + " above it (ASME B31.3, where it applies)."
	}
	at := func() *work.Figures { return &work.Figures{Expected: n.target} } // the test pressure, on every screen until it is read
	limits := l.figures(n, k)
	l.Step(
		work.Step{
			ID: id + ".set", Do: "set", Way: direction, Target: n.target, Unit: n.spell, Rate: n.rate,
			Name: n.name, Text: text, Figures: limits,
		},
		work.SecondsToSet,
	)
	if n.fill > 0 { // each wait has its own screen, in the order of the work
		l.Screen()
		l.Step(
			work.Step{
				ID: id + ".fill", Do: "hold", Seconds: n.fill, Name: "fill", Unit: n.spell, Figures: at(),
				Text: "Keep the source open: the system fills.",
			},
			n.fill,
		)
		l.Screen()
	}
	l.Step(
		work.Step{
			ID: id + ".close", Do: "note", Unit: n.spell, Figures: at(),
			Text: "Shut the source off, so that nothing is fed or drawn from now on.",
		},
		work.SecondsToRead,
	)
	if n.stabilise > 0 {
		l.Screen()
		l.Step(
			work.Step{
				ID: id + ".hold", Do: "hold", Seconds: n.stabilise, Name: "stabilise", Unit: n.spell,
				Figures: at(), Text: "The system settles with the source shut.",
			},
			n.stabilise,
		)
	}
	l.Screen()
	l.ask(id, "0")
	held := *limits
	held.Expected = n.target
	l.Step(
		work.Step{
			ID: id, Do: "read", Of: "indicated", Unit: n.spell, Seconds: n.measure, Every: n.every,
			Many: true, Trace: true, Name: n.name, Text: n.name + ": pressure now", Figures: &held,
		},
		n.measure,
	)
	l.ask(id, "1")
	l.Screen()
	l.Step(
		work.Step{
			ID: id + ".vent", Do: "vent",
			Text: "Let the pressure out slowly and see that the sensor shows that of the room.",
		},
		work.SecondsToVent,
	)
}

// figures returns what is shown with a phase: its limit, the limit in the sensor's unit per minute,
// and the run's number.
func (l *leakWork) figures(n *leakPhase, k int) *work.Figures {
	f := &work.Figures{}
	if n.runs > 1 {
		f.Cycle, f.Cycles, f.CycleOf = k, n.runs, "run"
	}
	switch n.form {
	case limitSlope:
		f.Limit, f.LimitUnit = work.PlainFigure(n.limit), "Pa/s"
	case limitRate:
		f.Limit, f.LimitUnit = work.PlainFigure(n.limit), "Pa·m³/s"
	case limitChange:
		f.Limit, f.LimitUnit = work.PlainFigure(n.limit), n.spell
	case limitEnd:
		if end := work.PlainFigure(n.limit); n.rise {
			f.High = end
		} else {
			f.Low = end
		}
	}
	if slope := l.slope(n); slope > 0 {
		f.LimitPerMin = work.PlainFigure(n.unit.FromInterval(float64(slope * 60)))
	}
	return f
}

// ask asks for temperature and barometer before and after the readings.
func (l *leakWork) ask(id, which string) {
	if l.asksT {
		l.StepBy(
			work.Step{
				ID: id + ".t" + which, Do: "ask", As: "number", Unit: "°C", Name: "temperature",
				Text: "Temperature of the system now, in °C",
			},
			work.SecondsToRead, id, 't',
		)
	}
	if l.asksB {
		l.StepBy(
			work.Step{
				ID: id + ".b" + which, Do: "ask", As: "number", Unit: "hPa", Name: "barometer",
				Text: "Barometer now, in hPa",
			},
			work.SecondsToRead, id, 'b',
		)
	}
}

// slope returns the permissible change of pressure in Pa/s, 0 without a limit.
func (l *leakWork) slope(n *leakPhase) float64 {
	switch n.form {
	case limitSlope:
		return n.limit
	case limitRate:
		if l.volume > 0 {
			return n.limit / l.volume
		}
	case limitEnd:
		return math.Abs(n.unit.Interval(n.pressure-n.limit)) / n.measure
	case limitChange:
		return n.unit.Interval(n.limit) / n.measure
	}
	return 0
}

// advice compares the measuring time with the time that the limit needs, before the test.
func (l *leakWork) advice(n *leakPhase) string {
	slope, step := l.slope(n), l.Unit.Interval(l.Resolution)
	if !(slope > 0) || !(step > 0) {
		return ""
	}
	need := leak.Dwell(1, step/math.Sqrt(12), slope, n.every, 3.29)
	if resolved := 10 * step / slope; resolved > need { // the limit should allow ten steps of the sensor
		need = resolved
	}
	if need <= n.measure {
		return ""
	}
	e, _ := numeric.ExactOf(math.Ceil(need))
	s, _ := e.Text(0)
	return n.name + ": with this sensor the limit needs about " + s + " s of measuring, the method has " + work.Figure(n.measure) + " s. A shorter time may leave the verdict open."
}
