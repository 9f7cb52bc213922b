package leaktest

import (
	"math"
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/leak"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
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
	step       float64   // of the sensor, Pa; 0 if not known
	stated     bool      // the step is stated, not only seen in the readings
	pressures  []float64 // as the standard showed them, in the instrument's unit
	seen       seenAround
	critical   float64
	decision   leak.Decision
	limited    bool
	limit      float64 // in the unit of the decision
	over       bool    // the measuring time is over
	moved      change
	lacks      string
	verdict    string
	reason     string
}

// Kind is the kind of work on closed systems that may leak.
func Kind() work.Kind { return work.Measured("leak", expand, evaluate, doubtsOfLeak) }

// evaluate judges the sheet of a leak test.
func evaluate(
	in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64),
) error {
	l, err := layLeakTest(in, nil)
	if err != nil {
		return err
	}
	l.Elsewhere, l.Taken = elsewhere, taken
	s := l.ReadSheet()
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
			l.atPressure(r)
			runs = append(runs, r)
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	missing := l.Missing(&s)
	whole := l.agreed(runs)
	verdict, reason := l.worst(runs, whole, missing, s.Whole)
	verdict, reason = l.Stops.Verdict(verdict, reason)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	work.WriteMissing(out, missing)
	l.writeResults(out, runs)
	l.WriteStored(out)
	l.writeRuns(out, runs)
	gauge.WriteWarnings(out, l.Stops.Before(l.Warnings))
	return nil
}

// measuredVolume computes the volume from its three pressures if they were captured.
func (l *leakWork) measuredVolume(s *work.Sheet) {
	if l.added <= 0 {
		return
	}
	p1, ok1 := s.One("v.p1", "indicated")
	pa, okA := s.One("v.pa", "indicated")
	p2, ok2 := s.One("v.p2", "indicated")
	if !ok1 || !okA || !ok2 {
		return
	}
	step := l.Resolution
	if step == 0 {
		step = numeric.LastDigit(
			max(numeric.DecimalPlaces(p1.Text), numeric.DecimalPlaces(pa.Text), numeric.DecimalPlaces(p2.Text)),
		)
	}
	v, rel, err := leak.Volume(l.added, l.addedRel, p1.X, pa.X, p2.X, step/math.Sqrt(12))
	if err != nil {
		l.Warn("volume", p2.Field, document.AsFault(err).Message)
		return
	}
	if l.volume > 0 && math.Abs(v-l.volume) > float64(0.2*l.volume) {
		l.Warn(
			"volume", p2.Field,
			"the measured volume, "+work.Figure(v)+" m³, is far from the stated one; the measured one is used",
		)
	}
	if rel > 0.1 {
		l.Warn("volume", p2.Field, "the volume is known to "+work.Figure(float64(100*rel))+" % only: choose an added volume nearer to that of the system")
	}
	l.volume, l.volumeRel = v, rel
	l.Stored = nil
	for i := range l.phases {
		n := &l.phases[i]
		l.Store(n.name, v, l.Absolute(l.Unit.FromSI(n.unit.ToSI(n.pressure))), l.heats(), 0)
	}
}

// gather collects the readings of a run in Pa, with the temperatures and air pressures that moved
// them besides the leak.
func (l *leakWork) gather(r *leakRun, s *work.Sheet) bool {
	x := &r.test
	var t, p, temperature, barometer []float64
	if tr := s.Traces[r.id]; tr != nil {
		t, p, temperature, barometer, r.pressures = tr.T, tr.P, tr.Temperature, tr.Barometer, tr.Typed
	} else if t, p = l.typed(r, s); len(t) == 0 {
		return false
	}
	if len(t) < leak.LeastSamples {
		return false
	}
	x.T, x.P, x.Absolute = make([]float64, len(t)), make([]float64, len(t)), make([]float64, len(t))
	x.Rise, x.ReferenceK, x.Planned, x.Every = r.rise, l.referenceK, r.measure, r.every
	if l.confidence != 0.95 { // which means k = 2, 95.45 %
		x.Coverage = l.confidence
	}
	x.Volume, x.VolumeRel = 1, 0
	if l.volume > 0 {
		x.Volume, x.VolumeRel = l.volume, l.volumeRel
	}
	x.Independent = l.sensorTime >= 0 && leak.Apart(l.sensorTime, (t[len(t)-1]-t[0])/float64(len(t)-1))
	x.TemperatureC = l.temperatures(r, s, t, temperature)
	var air []float64
	if l.Gauge {
		air = l.barometers(r, s, t, barometer)
	}
	r.step, r.stated = l.Unit.Interval(l.Resolution), l.Resolution > 0
	for i := range t {
		x.T[i] = t[i] - t[0]
		x.P[i] = l.Unit.ToSI(p[i])
		x.Absolute[i] = x.P[i]
		if l.Gauge {
			x.Absolute[i] += air[i]
		}
		if x.Absolute[i] < 0 {
			l.In.Fail(
				document.CodeRange, "captures",
				"a reading of "+r.name+" is below zero absolute: is the pressure gauge or absolute?",
			)
			return false
		}
	}
	if tr := s.Traces[r.id]; tr == nil {
		finest := 0.0
		for _, v := range s.Values[r.id+" indicated"] {
			if finest == 0 || v.Step < finest {
				finest = v.Step
			}
		}
		r.step, r.stated = max(r.step, finest), true
	}
	r.start = r.unit.FromSI(x.P[0])
	if r.unit.Name == l.Unit.Name {
		r.start = p[0]
	}
	r.over = x.Over()
	return true
}

// typed returns the typed readings of a run in order of time.
func (l *leakWork) typed(r *leakRun, s *work.Sheet) (t, p []float64) {
	list := s.Values[r.id+" indicated"]
	for i := range list {
		if !list[i].Timed {
			l.In.Fail(document.CodeMissing, list[i].Field, "a reading of a leak test needs the time it was taken at")
			return nil, nil
		}
		for j := i; j > 0 && list[j-1].At > list[j].At; j-- {
			list[j-1], list[j] = list[j], list[j-1]
		}
	}
	for i := range list {
		if i > 0 && list[i].At == list[i-1].At {
			l.Warn("duplicate", list[i].Field, "two readings carry the same time; the first of them is used")
			continue
		}
		t, p = append(t, float64(list[i].At-list[0].At)/1000), append(p, list[i].X)
		r.pressures = append(r.pressures, list[i].Typed)
	}
	return t, p
}

// temperatures returns those of the samples in °C, nil if none is known. r.seen gets the
// uncertainty of their change.
func (l *leakWork) temperatures(r *leakRun, s *work.Sheet, t, recorded []float64) []float64 {
	warn := func(message string) { l.Warn("no_temperature", r.field, r.name+": "+message) }
	u := l.uTemperature
	c := recorded
	if c == nil {
		first, ok := s.Number(r.id + ".t0")
		last, again := s.Number(r.id + ".t1")
		if !ok && s.HasTemperature {
			first.X, ok = s.Temperature, true
		}
		switch {
		case !ok:
			warn("the temperature was not recorded; a change of it looks like a leak: " + work.Figure(l.driftK) + " K over the time are in the uncertainty")
			r.seen.driftK = l.driftK
			return nil
		case !again:
			if s.Whole {
				warn("the temperature was read once; a change of it looks like a leak: " + work.Figure(l.driftK) + " K over the time are in the uncertainty")
			}
			last, r.seen.driftK = first, l.driftK
		}
		c = between(t, first.X, last.X)
		if u < 0 && again {
			u = numeric.LastDigit(max(numeric.DecimalPlaces(first.Text), numeric.DecimalPlaces(last.Text))) / math.Sqrt(12)
		}
	}
	for i, x := range c {
		if !(x > -units.ZeroCelsius) {
			l.In.Fail(
				document.CodeRange, "temperature_c",
				"a temperature of "+r.name+", number "+strconv.Itoa(i+1)+", lies below absolute zero",
			)
			return nil
		}
	}
	for _, x := range [...]float64{c[0], c[len(c)-1]} {
		if why := work.NoSystem(x); why != "" {
			l.Stops.Add(work.StopPlace, r.field, r.name+": "+why)
			break
		}
	}
	if d := c[len(c)-1] - c[0]; math.Abs(d) > 0.5 {
		l.Warn("temperature", r.field, r.name+": the temperature changed by "+work.Figure(d)+" K; wait until it is steady, or trust the correction as far as the thermometer")
	}
	r.seen.uT = max(u, 0)
	return c
}

// between interpolates from a first to a last value, linearly with time.
func between(t []float64, first, last float64) []float64 {
	list := make([]float64, len(t))
	span := t[len(t)-1] - t[0]
	for i := range t {
		list[i] = first + float64((last-first)*(t[i]-t[0])/span)
	}
	return list
}

// barometers returns the air pressures of the samples in Pa. r.seen gets the uncertainty of their
// change.
func (l *leakWork) barometers(r *leakRun, s *work.Sheet, t, recorded []float64) []float64 {
	u := l.uBaro
	c := recorded
	if c == nil {
		first, ok := s.Number(r.id + ".b0")
		last, again := s.Number(r.id + ".b1")
		first.X, last.X = float64(100*first.X), float64(100*last.X)
		if !ok && s.HasPressure {
			first.X, ok = s.Pressure, true
		}
		if !ok {
			first.X = l.Ambient
			r.seen.anyAir = !l.Parts.Has("ambient_pa")
		}
		if !again {
			last, r.seen.driftPaH = first, l.driftPaH
			if s.Whole || !ok {
				l.Warn("barometer_once", r.field, r.name+": the barometer was not read at both ends; a change of it looks like a leak to a gauge sensor: "+work.Figure(l.driftPaH)+" Pa an hour are in the uncertainty")
			}
		} else if u < 0 {
			u = float64(
				100*numeric.LastDigit(max(numeric.DecimalPlaces(first.Text), numeric.DecimalPlaces(last.Text))),
			) / math.Sqrt(12)
		}
		c = between(t, first.X, last.X)
	}
	for _, x := range c {
		if why := work.NoPressure(x/100, s.Height, s.HasHeight); why != "" {
			l.Stops.Add(work.StopPlace, r.field, r.name+": "+why)
			break
		}
	}
	r.seen.uB = max(u, 0)
	return c
}

// judge fits the line of one run and compares it with its limit.
func (l *leakWork) judge(r *leakRun) error {
	x := &r.test
	l.missingTerms(r)
	x.Unseen = func(x *leak.Test, f *leak.Fit) []uncertainty.Term { return l.unseen(r, x, f) }
	limit := 0.0
	if slope := l.slope(r.leakPhase); slope > 0 {
		r.limited, limit = true, float64(slope*x.Volume)
		if r.form == limitRate {
			limit = r.leakPhase.limit
		}
		r.limit = limit
	}
	f, d, err := leak.Judge(*x, limit)
	if err != nil {
		return err
	}
	r.fit, r.decision = f, d
	r.end = r.unit.FromSI(x.P[f.N-1])
	if r.unit.Name == l.Unit.Name {
		r.end = l.Unit.FromSI(x.P[f.N-1])
	}
	if l.Taken != nil {
		l.Taken(r.pressures[0])
		l.Taken(r.pressures[f.N-1])
	}
	unseen := 0.0
	for _, t := range f.Terms[2:] {
		unseen += float64(t.U * t.U)
	}
	r.critical = float64(f.CriticalLevel * f.Factor)
	if unseen > 0 {
		r.critical = math.Sqrt(float64(r.critical*r.critical) + float64(float64(1.645*1.645)*unseen))
	}
	l.draw(r)
	l.change(r)
	l.decide(r)
	l.look(r)
	return nil
}

// decide gives the verdict of one run. A limit of the mean change over several runs is judged once
// all are present.
func (l *leakWork) decide(r *leakRun) {
	unmoved := !r.stated && r.fit.Sigma == 0
	ofChange := r.form == limitEnd || r.form == limitChange
	switch {
	case r.form == limitNone:
	case r.lacks != "":
		r.verdict, r.reason = conformity.Undecided, r.lacks
	case r.form == limitRate && l.volume <= 0:
		r.verdict, r.reason = conformity.Undecided, "the volume is not measured yet"
	case unmoved && !ofChange:
		r.verdict, r.reason = conformity.Undecided, leak.NoScatter
	case !r.over && !r.decision.Certain:
		r.verdict, r.reason = conformity.Undecided, "the measuring time is not over"
	case ofChange && r.over:
		l.decideChange(r)
	default:
		r.verdict, r.reason = r.decision.Verdict, ""
		if l.Ruled && r.decision.By == leak.ByPlanned {
			f := &r.fit
			a := work.Amount{Value: f.Rate, Terms: f.Terms}
			v := l.judged(&a, work.Limits{High: r.limit, HasHigh: true}, f.U, f.K, f.DOF)
			if r.verdict, r.reason = v.Verdict, v.Reason; r.verdict != conformity.Fail &&
				f.Bends(&r.test, r.limit, f.Expanded) {
				r.verdict, r.decision.Bound = conformity.Undecided, "settling"
			}
		}
		l.explain(r)
	}
	if r.verdict == conformity.Undecided {
		r.decision.Certain = false
	}
}

// explain sets why the rate does not pass.
func (l *leakWork) explain(r *leakRun) {
	switch {
	case r.verdict == conformity.Fail && r.fit.Unsettled:
		r.reason = "the leak is larger than its limit; if the gas was still settling, wait and measure again"
	case r.verdict == conformity.Fail:
		r.reason = "the leak is larger than its limit"
	case r.verdict != conformity.Undecided || r.reason != "":
	case r.decision.Bound == "settling":
		r.reason = "the pressures do not lie on a straight line: wait until the gas has settled, or read a slow sensor less often, and measure again"
	case r.decision.By == leak.ByLate:
		r.reason = "the limit lay within the uncertainty at the planned end, and does by the wider margin after it: measure on, or plan a longer test"
	default:
		r.reason = "the limit lies within the uncertainty: measure longer"
	}
}

// agreed judges changes over several runs by the last two, which must agree. It returns the verdict
// of each phase with such a limit, in the form of runs.
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
		if before == nil || !before.over || !last.over {
			both.reason = "two runs are needed"
			continue
		}
		if both.lacks = before.lacks + last.lacks; both.lacks != "" {
			both.reason = last.lacks
			continue
		}
		a, b := before.moved.Value, last.moved.Value
		both.start = float64((a + b) / 2)
		both.end = math.Abs(a - b)
		both.moved = change{
			Amount: work.Amount{Value: both.start, Terms: work.Together(before.moved.Terms, last.moved.Terms, meanOf)},
		}
		small := float64(1e-12 * max(math.Abs(a), math.Abs(b), n.limit))
		if n.agree > 0 && both.end-n.agree > small {
			both.reason = "the last two runs do not agree: run it again"
			continue
		}
		l.decideChange(both)
		if both.verdict == conformity.Fail {
			both.reason = "the mean change of the last two runs is larger than its limit"
		}
	}
	return list
}

// worst returns the verdict of the whole test.
func (l *leakWork) worst(runs, pairs []*leakRun, missing []string, whole bool) (verdict, reason string) {
	limited := false
	for i := range l.phases {
		limited = limited || l.phases[i].form != limitNone
	}
	notYet := work.OpenReason(len(missing), whole, "values")
	switch {
	case len(runs) == 0:
		return conformity.Undecided, "there are not yet three readings"
	case notYet != "":
		return conformity.Undecided, notYet
	case !limited:
		return conformity.Undecided, "the method states no limit"
	}
	verdict = conformity.Pass
	for _, r := range append(append([]*leakRun(nil), runs...), pairs...) {
		if r.form == limitNone || r.form == limitChange && r.runs > 1 && r.k > 0 {
			continue
		}
		if work.WorseVerdict(r.verdict, verdict) {
			verdict, reason = r.verdict, r.name+": "+r.reason
		}
	}
	return verdict, reason
}
