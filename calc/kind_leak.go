package calc

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/leak"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Forms of a permissible leak.
const (
	limitNone   = ""
	limitSlope  = "limit_pa_s"
	limitRate   = "limit_pa_m3_s"
	limitEnd    = "limit_end"    // the pressure that must be left
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
	limit, agree    float64 // of slope in Pa/s, of rate in Pa·m³/s, else in unit
	source          string
}

// leakWork is a leak test laid out.
type leakWork struct {
	*work
	phases                 []leakPhase
	volume, volumeRel      float64 // 0 where it is not known
	added, addedRel        float64
	addedAt                string
	confidence, referenceK float64
	sccm                   float64 // °C
	uTemperature, uBaro    float64 // of one reading; −1 where it is not said
	asksT, asksB           bool
	weakLow, weakHigh      float64
	part                   string
}

func expandLeak(in *document.Reader, p *plan) error {
	_, err := layLeakTest(in, p)
	return err
}

// gallon is the US liquid gallon, 231 cubic inches, in m³.
const gallon = 0.003785411784

// layLeakTest reads a leak test's method and writes its plan.
func layLeakTest(in *document.Reader, p *plan) (*leakWork, error) {
	l := &leakWork{work: newWork(in, p), confidence: 0.95, uTemperature: -1, uBaro: -1}
	l.particulars()
	m := l.m
	l.asksT = m.ChoiceOr("temperature", "asked", "none") == "asked"
	l.asksB = m.ChoiceOr("barometer", "asked", "none") == "asked" && l.gauge
	l.confidence = m.NumberOr("confidence", 0.95)
	l.referenceK = m.NumberOr("reference_temperature_c", 20) + 273.15
	l.sccm = m.NumberOr("sccm_temperature_c", 0)
	for _, f := range []struct {
		name string
		to   *float64
	}{{"u_temperature_k", &l.uTemperature}, {"u_barometer_pa", &l.uBaro}} {
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

// particulars takes what is known of the system.
func (l *leakWork) particulars() {
	r := l.parts
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
	l.weakLow, l.weakHigh, l.part = l.low, l.high, "the instrument's range"
	if w, ok := r.OptionalObject("weakest"); ok {
		l.part = w.TextOr("part", "the weakest part")
		l.weakLow, l.weakHigh = larger(l.weakLow, w.NumberOr("low", l.weakLow)), smaller(l.weakHigh, w.Number("high"))
	}
}

// phase takes one test pressure.
func (l *leakWork) phase(i int, r *document.Reader) {
	n := leakPhase{id: "p" + strconv.Itoa(i+1), field: "method.phases[" + strconv.Itoa(i) + "]", unit: l.unit, spell: l.spelling, source: l.source}
	n.name = r.TextOr("name", "phase "+strconv.Itoa(i+1))
	d := r.Decimal("pressure")
	n.target, n.pressure = d.Text, d.Value
	if r.Has("unit") {
		n.unit, n.spell = units.Of(r, "unit", units.Pressure), r.Text("unit")
	}
	if r.Has("mode") && (r.Choice("mode", "gauge", "absolute") == "gauge") != l.gauge && r.Err() == nil {
		r.Fail(document.CodeConflict, "mode", "the sensor shows the other kind of pressure")
	}
	if d, ok := r.OptionalDecimal("rate"); ok {
		n.rate = d.Text
		if r.Err() == nil && d.Value <= 0 {
			r.Fail(document.CodeRange, "rate", "must be above zero")
		}
	}
	n.fill, n.stabilise, n.measure = l.seconds(r, "fill_s", 0), l.seconds(r, "stabilise_s", 0), l.seconds(r, "measure_s", 0)
	n.every = l.seconds(r, "every_s", 10)
	n.runs = r.WholeOr("runs", 1, 5, 1)
	l.limits(r, &n)
	own := l.unit.FromSI(n.unit.ToSI(n.pressure))
	absolute := l.absolute(own)
	switch {
	case r.Err() != nil:
	case n.measure < 2*n.every || n.every <= 0:
		r.Fail(document.CodeRange, "measure_s", "must hold two intervals between readings or more")
	case absolute < 0:
		r.Fail(document.CodeRange, "pressure", "lies below zero absolute: is it gauge or absolute?")
	case own < l.weakLow || own > l.weakHigh:
		r.Fail(document.CodeRange, "pressure", figure(own)+" "+l.spelling+" is more than "+l.part+" bears: "+figure(l.weakLow)+" to "+figure(l.weakHigh)+" "+l.spelling)
	case math.Abs(absolute-l.ambient) < 1:
		r.Fail(document.CodeRange, "pressure", "is that of the room: nothing would leak")
	}
	n.rise = absolute < l.ambient
	l.phases = append(l.phases, n)
}

// limits takes the one permissible leak that a phase states.
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
			l.parts.Fail(document.CodeMissing, "volume_m3", "this rule needs the volume of the gas space")
			r.Fail(document.CodeMissing, "rule", "this rule needs the volume of the gas space, volume_m3")
		default:
			n.form, n.limit = limitEnd, leak.FinalPressure(n.pressure, l.volume/gallon)
			n.source = "California TP-201.3, equation 9-1, nozzles 1 to 6"
		}
	}
	if r.Err() == nil && n.form == limitRate && l.volume <= 0 && l.added <= 0 {
		r.Fail(document.CodeMissing, limitRate, "a leak rate needs the volume: state volume_m3, or added_volume_m3 to measure it")
	}
}

// run names the steps of one run of a phase.
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
		l.store(n.name, l.volume, l.absolute(l.unit.FromSI(n.unit.ToSI(n.pressure))), l.heats(), 0)
	}
	if l.in.Err() != nil {
		return
	}
	l.begin("The volume is not known, so the stored energy cannot be told: treat the system as dangerous.", leakCautions,
		"Is every part rated for the highest pressure of this test, is the relief set, and is the area clear?")
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

// heats is the ratio of heats of the gas.
func (l *leakWork) heats() float64 {
	k := l.parts.NumberOr("ratio_of_heats", 1.4)
	if l.in.Err() == nil && !(k > 1 && k < 2) {
		l.m.Fail(document.CodeRange, "ratio_of_heats", "must be above 1 and below 2")
	}
	return k
}

func (l *leakWork) volumeSteps() {
	at := l.addedAt
	unit := l.spelling
	if at == "" {
		at, unit = l.phases[0].target, l.phases[0].spell
	}
	l.screen()
	l.step(planStep{id: "v.set", do: "set", target: at, unit: unit, text: "To measure the volume: pressurise the system alone, the added volume shut off and vented."}, secondsToSet)
	l.step(planStep{id: "v.hold", do: "hold", seconds: 60}, 60)
	l.screen()
	l.step(planStep{id: "v.p1", do: "read", of: "indicated", unit: l.spelling, name: "system", text: "Pressure of the system alone"}, secondsToRead)
	l.step(planStep{id: "v.pa", do: "read", of: "indicated", unit: l.spelling, name: "added", text: "Pressure in the added volume before it is joined"}, secondsToRead)
	l.step(planStep{id: "v.open", do: "note", text: "Open the valve between the two, slowly. Touch no joint."}, secondsToSet)
	l.step(planStep{id: "v.wait", do: "hold", seconds: 60}, 60)
	l.step(planStep{id: "v.p2", do: "read", of: "indicated", unit: l.spelling, name: "joined", text: "Pressure of both together, at the same temperature"}, secondsToRead)
	l.screen()
	l.step(planStep{id: "v.vent", do: "vent", text: "Vent both, see zero, and shut the added volume off again."}, secondsToVent)
}

func (l *leakWork) phaseSteps(n *leakPhase, k int) {
	id := n.run(k)
	direction := "up"
	if n.rise {
		direction = "down"
	}
	l.screen()
	if text := l.advice(n); text != "" && k == 1 {
		l.step(planStep{id: id + ".plan", do: "note", text: text}, 0)
	}
	text := n.name + ": go to the test pressure in steps, looking for a gross leak at each."
	if !n.rise {
		relief, first := leak.PneumaticTest(l.absolute(l.unit.FromSI(n.unit.ToSI(n.pressure))) - l.ambient)
		text += " Look first at " + figure(n.unit.FromSI(first)) + " " + n.spell + " above the room; the relief set at no more than " + figure(n.unit.FromSI(relief)) + " " + n.spell + " above it (ASME B31.3, where it applies)."
	}
	l.step(planStep{id: id + ".set", do: "set", way: direction, target: n.target, unit: n.spell, rate: n.rate, name: n.name, text: text}, secondsToSet)
	if n.fill > 0 {
		l.step(planStep{id: id + ".fill", do: "hold", seconds: n.fill}, n.fill)
	}
	l.step(planStep{id: id + ".close", do: "note", text: "Shut the source off, so that nothing is fed or drawn from now on."}, secondsToRead)
	if n.stabilise > 0 {
		l.step(planStep{id: id + ".hold", do: "hold", seconds: n.stabilise}, n.stabilise)
	}
	l.screen()
	l.ask(id, "0")
	l.step(planStep{id: id, do: "read", of: "indicated", unit: n.spell, seconds: n.measure, every: n.every, many: true, trace: true, name: n.name, text: n.name + ": pressure now"}, n.measure)
	l.ask(id, "1")
	l.screen()
	l.step(planStep{id: id + ".vent", do: "vent", text: "Let the pressure out slowly and see that the sensor shows that of the room."}, secondsToVent)
}

// ask asks for temperature and barometer before and after the readings.
func (l *leakWork) ask(id, which string) {
	if l.asksT {
		l.stepBy(planStep{id: id + ".t" + which, do: "ask", as: "number", unit: "°C", name: "temperature", text: "Temperature of the system now, in °C"}, secondsToRead, id, 't')
	}
	if l.asksB {
		l.stepBy(planStep{id: id + ".b" + which, do: "ask", as: "number", unit: "hPa", name: "barometer", text: "Barometer now, in hPa"}, secondsToRead, id, 'b')
	}
}

// slope is the permissible change of pressure in Pa/s, 0 without a limit.
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

// advice compares the measuring time with what the limit needs, before the test.
func (l *leakWork) advice(n *leakPhase) string {
	slope, step := l.slope(n), l.unit.Interval(l.resolution)
	if !(slope > 0) || !(step > 0) {
		return ""
	}
	need := leak.Dwell(1, step/math.Sqrt(12), slope, n.every, 3.29)
	if resolved := 10 * step / slope; resolved > need { // the change that the limit allows is to be ten steps of the sensor
		need = resolved
	}
	if need <= n.measure {
		return ""
	}
	e, _ := numeric.ExactOf(math.Ceil(need))
	s, _ := e.Text(0)
	return n.name + ": with this sensor the limit needs about " + s + " s of measuring, the method has " + figure(n.measure) + " s. A shorter time may leave the verdict open."
}
