package calc

import (
	"math"
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/leak"
)

// leakRun is one run of a phase, judged.
type leakRun struct {
	*leakPhase
	id         string
	k          int
	test       leak.Test
	fit        leak.Fit
	start, end float64 // as recorded, in the phase's unit
	shown      []float64
	line       [2]float64
	step       float64 // of the sensor, Pa; 0 where it is not known
	stated     bool    // and not only seen in the readings
	uT, uB     float64 // standard uncertainties of the rate by temperature and barometer
	uStep      float64 // and by the sensor's step
	u          float64
	critical   float64
	decision   leak.Decision
	limited    bool
	limit      float64 // as the decision takes it
	over       bool    // the measuring time is over
	verdict    string
	reason     string
}

// evaluateLeak judges the sheet of a leak test.
func evaluateLeak(in *document.Reader, out *document.Writer) error {
	l, err := layLeakTest(in, nil)
	if err != nil {
		return err
	}
	s := l.readSheet()
	if err := in.Err(); err != nil {
		return err
	}
	l.measuredVolume(&s)
	var runs []*leakRun
	for i := range l.phases {
		for k := 1; k <= l.phases[i].runs; k++ {
			r := &leakRun{leakPhase: &l.phases[i], id: l.phases[i].run(k), k: k}
			if !l.gather(r, &s) || in.Err() != nil {
				continue
			}
			if err := l.judge(r); err != nil {
				return err
			}
			runs = append(runs, r)
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	missing := l.missing(&s)
	whole := l.agreed(runs)
	verdict, reason := l.worst(runs, whole, missing, s.whole)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	writeMissing(out, missing)
	l.writeResults(out, runs)
	l.writeStored(out)
	l.writeRuns(out, runs)
	gauge.WriteWarnings(out, l.warnings)
	return nil
}

// measuredVolume takes the volume from its three pressures, where they are there.
func (l *leakWork) measuredVolume(s *workSheet) {
	if l.added <= 0 {
		return
	}
	p1, ok1 := s.one("v.p1", "indicated")
	pa, okA := s.one("v.pa", "indicated")
	p2, ok2 := s.one("v.p2", "indicated")
	if !ok1 || !okA || !ok2 {
		return
	}
	step := l.resolution
	if step == 0 {
		step = lastDigit(max(decimals(p1.text), decimals(pa.text), decimals(p2.text)))
	}
	v, rel, err := leak.Volume(l.added, l.addedRel, p1.x, pa.x, p2.x, step/math.Sqrt(12))
	if err != nil {
		l.warn("volume", p2.field, document.AsFault(err).Message)
		return
	}
	if l.volume > 0 && math.Abs(v-l.volume) > float64(0.2*l.volume) {
		l.warn("volume", p2.field, "the measured volume, "+figure(v)+" m³, is far from the stated one; the measured one is used")
	}
	if rel > 0.1 {
		l.warn("volume", p2.field, "the volume is known to "+figure(float64(100*rel))+" % only: choose an added volume nearer to that of the system")
	}
	l.volume, l.volumeRel = v, rel
	l.stored = nil
	for i := range l.phases {
		n := &l.phases[i]
		l.store(n.name, v, l.absolute(l.unit.FromSI(n.unit.ToSI(n.pressure))), l.heats(), 0)
	}
}

// gather puts the readings of a run together, in Pa and with what moved them besides the leak.
func (l *leakWork) gather(r *leakRun, s *workSheet) bool {
	x := &r.test
	var t, p, temperature, barometer []float64
	if tr := s.traces[r.id]; tr != nil {
		t, p, temperature, barometer = tr.t, tr.p, tr.temperature, tr.barometer
	} else if t, p = l.typed(r, s); len(t) == 0 {
		return false
	}
	if len(t) < leak.LeastSamples {
		return false
	}
	x.T, x.P, x.Absolute = make([]float64, len(t)), make([]float64, len(t)), make([]float64, len(t))
	x.Rise, x.ReferenceK, x.Risk = r.rise, l.referenceK, 1-l.confidence
	if l.confidence == 0.95 {
		x.Risk = 0
	}
	x.Volume, x.VolumeRel = 1, 0
	if l.volume > 0 {
		x.Volume, x.VolumeRel = l.volume, l.volumeRel
	}
	elapsed := t[len(t)-1] - t[0]
	x.TemperatureC, r.uT = l.temperatures(r, s, t, temperature, elapsed)
	var air []float64
	if l.gauge {
		air, r.uB = l.barometers(r, s, t, barometer, elapsed)
	}
	r.step, r.stated = l.unit.Interval(l.resolution), l.resolution > 0
	for i := range t {
		x.T[i] = t[i] - t[0]
		x.P[i] = l.unit.ToSI(p[i])
		x.Absolute[i] = x.P[i]
		if l.gauge {
			x.Absolute[i] += air[i]
		}
		if x.Absolute[i] < 0 {
			l.in.Fail(document.CodeRange, "captures", "a reading of "+r.name+" is below zero absolute: is the pressure gauge or absolute?")
			return false
		}
	}
	if tr := s.traces[r.id]; tr == nil {
		digits := 0
		for _, v := range s.values[r.id+" indicated"] {
			digits = max(digits, decimals(v.text))
		}
		r.step, r.stated = max(r.step, r.unit.Interval(lastDigit(digits))), true
	}
	r.start, r.end = p[0], p[len(t)-1]
	if r.unit.Name != l.unit.Name {
		r.start, r.end = r.unit.FromSI(x.P[0]), r.unit.FromSI(x.P[len(t)-1])
	}
	r.over = elapsed >= float64(0.98*r.measure)-r.every
	l.plausible(r)
	return true
}

// typed takes the typed readings of a run by their time.
func (l *leakWork) typed(r *leakRun, s *workSheet) (t, p []float64) {
	list := s.values[r.id+" indicated"]
	for i := range list {
		if !list[i].timed {
			l.in.Fail(document.CodeMissing, list[i].field, "a reading of a leak test needs the time it was taken at")
			return nil, nil
		}
		for j := i; j > 0 && list[j-1].at > list[j].at; j-- {
			list[j-1], list[j] = list[j], list[j-1]
		}
	}
	for i := range list {
		if i > 0 && list[i].at == list[i-1].at {
			l.warn("duplicate", list[i].field, "two readings carry the same time; the first of them is used")
			continue
		}
		t, p = append(t, float64(list[i].at-list[0].at)/1000), append(p, list[i].x)
	}
	return t, p
}

// temperatures are those of the samples in °C, nil where none is known, and what their reading adds to the rate's uncertainty.
func (l *leakWork) temperatures(r *leakRun, s *workSheet, t, recorded []float64, elapsed float64) ([]float64, float64) {
	warn := func(message string) { l.warn("no_temperature", r.field, r.name+": "+message) }
	u := l.uTemperature
	c := recorded
	if c == nil {
		first, ok := s.number(r.id + ".t0")
		last, again := s.number(r.id + ".t1")
		if !ok && s.hasT {
			first.x, ok = s.temperature, true
		}
		switch {
		case !ok:
			warn("the temperature was not recorded; a change of it looks like a leak")
			return nil, 0
		case !again:
			if s.whole {
				warn("the temperature was read once; a change of it looks like a leak")
			}
			last = first
		}
		c = between(t, first.x, last.x)
		if u < 0 && again {
			u = lastDigit(max(decimals(first.text), decimals(last.text))) / math.Sqrt(12)
		}
	}
	for i, x := range c {
		if !(x > -273.15) {
			l.in.Fail(document.CodeRange, "temperature_c", "a temperature of "+r.name+", number "+strconv.Itoa(i+1)+", lies below absolute zero")
			return nil, 0
		}
	}
	if d := c[len(c)-1] - c[0]; math.Abs(d) > 0.5 {
		l.warn("temperature", r.field, r.name+": the temperature changed by "+figure(d)+" K; wait until it is steady, or trust the correction as far as the thermometer")
	}
	if u <= 0 || elapsed <= 0 {
		return c, 0
	}
	return c, float64(math.Sqrt2*u) / (c[0] + 273.15) / elapsed // of the pressure, relative, per second
}

// between goes from a first to a last value with the time.
func between(t []float64, first, last float64) []float64 {
	list := make([]float64, len(t))
	span := t[len(t)-1] - t[0]
	for i := range t {
		list[i] = first + float64((last-first)*(t[i]-t[0])/span)
	}
	return list
}

// barometers are those of the samples in Pa, and what their reading adds to the uncertainty of the rate of pressure, Pa/s.
func (l *leakWork) barometers(r *leakRun, s *workSheet, t, recorded []float64, elapsed float64) ([]float64, float64) {
	u := l.uBaro
	c := recorded
	if c == nil {
		first, ok := s.number(r.id + ".b0")
		last, again := s.number(r.id + ".b1")
		first.x, last.x = float64(100*first.x), float64(100*last.x)
		if !ok && s.hasP {
			first.x, ok = s.press, true
		}
		if !ok {
			first.x = l.ambient
		}
		if !again {
			last = first
			if s.whole || !ok {
				l.warn("barometer_once", r.field, r.name+": the barometer was not read at both ends; a change of it looks like a leak to a gauge sensor")
			}
		} else if u < 0 {
			u = float64(100*lastDigit(max(decimals(first.text), decimals(last.text)))) / math.Sqrt(12)
		}
		c = between(t, first.x, last.x)
	}
	for _, x := range c {
		if x < 3e4 || x > 1.2e5 {
			l.warn("implausible", r.field, r.name+": a barometer of "+figure(x)+" Pa is that of no place; is it in hPa?")
			break
		}
	}
	if u <= 0 || elapsed <= 0 {
		return c, 0
	}
	return c, float64(math.Sqrt2*u) / elapsed
}

// plausible warns of readings that are not near the test pressure.
func (l *leakWork) plausible(r *leakRun) {
	target := r.unit.ToSI(r.pressure)
	room := 0.0
	if !l.gauge {
		room = l.ambient
	}
	if span := math.Abs(target - room); math.Abs(r.test.P[0]-target) > span/2 {
		l.warn("implausible", r.field, r.name+": the first reading is "+figure(r.start)+" "+r.spell+", the test pressure "+r.target+": are unit and sign right?")
	}
}

// judge fits the line of one run and holds it against its limit.
func (l *leakWork) judge(r *leakRun) error {
	x := &r.test
	f, err := leak.Evaluate(*x)
	if err != nil {
		return err
	}
	last := len(x.T) - 1
	compensated := x.Absolute[last]
	if x.TemperatureC != nil {
		compensated = x.Absolute[last] * x.ReferenceK / (x.TemperatureC[last] + 273.15)
	}
	r.uT = float64(r.uT * compensated * x.Volume)
	r.uB = float64(r.uB * x.Volume)
	if r.stated && f.Sigma < r.step/2 && f.Elapsed > 0 {
		r.uStep = float64(r.step / math.Sqrt(6) / f.Elapsed * x.Volume)
	}
	x.Systematic = math.Sqrt(float64(r.uT*r.uT) + float64(r.uB*r.uB) + float64(r.uStep*r.uStep))
	volume := float64(f.Rate * x.VolumeRel)
	f.U = math.Sqrt(float64(f.RateSE*f.RateSE) + float64(volume*volume) + float64(x.Systematic*x.Systematic))
	r.fit, r.u = f, f.U
	r.critical = f.CriticalLevel
	if x.Systematic > 0 {
		z := float64(1.645 * x.Systematic)
		r.critical = math.Sqrt(float64(r.critical*r.critical) + float64(z*z))
	}
	if slope := l.slope(r.leakPhase); slope > 0 {
		r.limited, r.limit = true, float64(slope*x.Volume)
		if r.form == limitRate {
			r.limit = r.leakPhase.limit
		}
		r.decision = leak.Decide(f, *x, r.limit)
	}
	l.draw(r)
	l.decide(r)
	l.look(r)
	return nil
}

// decide gives the verdict of one run; that of a change over several runs is given when all are there.
func (l *leakWork) decide(r *leakRun) {
	unmoved := !r.stated && r.fit.Sigma == 0
	switch {
	case r.form == limitNone:
	case r.form == limitRate && l.volume <= 0:
		r.verdict, r.reason = conformity.Undecided, "the volume is not measured yet"
	case unmoved && r.form != limitEnd && r.form != limitChange:
		r.verdict, r.reason = conformity.Undecided, "the readings do not scatter at all: state the sensor's resolution"
		r.decision.Certain = false
	case !r.over && !r.decision.Certain:
		r.verdict, r.reason = conformity.Undecided, "the measuring time is not over"
	case r.form == limitEnd:
		r.verdict = conformity.Pass
		scale := max(math.Abs(r.leakPhase.limit), math.Abs(r.pressure))
		short := r.leakPhase.limit - r.end
		if r.rise {
			short = -short
		}
		if !r.over {
			r.verdict = r.decision.Verdict
		} else if short > float64(1e-12*scale) {
			r.verdict, r.reason = conformity.Fail, "the end pressure is beyond its limit"
		}
	case r.form == limitChange:
		r.verdict = conformity.Pass
		if change := r.change(); change-r.leakPhase.limit > float64(1e-12*math.Abs(r.leakPhase.limit)) {
			r.verdict, r.reason = conformity.Fail, "the change is larger than its limit"
		}
	default:
		r.verdict = r.decision.Verdict
		switch r.verdict {
		case conformity.Fail:
			r.reason = "the leak is larger than its limit"
		case conformity.Undecided:
			r.reason = "the limit lies within the uncertainty: measure longer"
		}
	}
}

// change is by how much the pressure moved towards that of the room, in the phase's unit.
func (r *leakRun) change() float64 {
	if r.rise {
		return r.end - r.start
	}
	return r.start - r.end
}

// agreed judges changes over several runs by the last two, which must agree; it returns the verdict of each phase with such a limit, as runs.
func (l *leakWork) agreed(runs []*leakRun) []*leakRun {
	var list []*leakRun
	for i := range l.phases {
		n := &l.phases[i]
		var last, before *leakRun
		for _, r := range runs {
			if r.leakPhase == n {
				before, last = last, r
			}
		}
		if last == nil || n.form != limitChange || n.runs < 2 {
			continue
		}
		both := &leakRun{leakPhase: n, id: n.id, verdict: conformity.Undecided}
		list = append(list, both)
		if before == nil || before.verdict == conformity.Undecided || last.verdict == conformity.Undecided {
			both.reason = "two runs are needed"
			continue
		}
		a, b := before.change(), last.change()
		both.start = float64((a + b) / 2)
		both.end = math.Abs(a - b)
		switch small := float64(1e-12 * max(math.Abs(a), math.Abs(b), n.limit)); {
		case n.agree > 0 && both.end-n.agree > small:
			both.reason = "the last two runs do not agree: run it again"
		case both.start-n.limit > small:
			both.verdict, both.reason = conformity.Fail, "the mean change of the last two runs is larger than its limit"
		default:
			both.verdict = conformity.Pass
		}
	}
	return list
}

// worst is the verdict of the whole.
func (l *leakWork) worst(runs, pairs []*leakRun, missing []string, whole bool) (verdict, reason string) {
	limited := false
	for i := range l.phases {
		limited = limited || l.phases[i].form != limitNone
	}
	switch {
	case len(runs) == 0:
		return conformity.Undecided, "there are not yet three readings"
	case len(missing) > 0:
		return conformity.Undecided, strconv.Itoa(len(missing)) + " values are missing"
	case !whole:
		return conformity.Undecided, "the run is not closed"
	case !limited:
		return conformity.Undecided, "the method states no limit"
	}
	verdict = conformity.Pass
	for _, r := range append(append([]*leakRun(nil), runs...), pairs...) {
		if r.form == limitNone || r.form == limitChange && r.runs > 1 && r.k > 0 {
			continue
		}
		if r.verdict == conformity.Fail {
			return r.verdict, r.name + ": " + r.reason
		}
		if r.verdict != conformity.Pass && verdict == conformity.Pass {
			verdict, reason = conformity.Undecided, r.name+": "+r.reason
		}
	}
	return verdict, reason
}
