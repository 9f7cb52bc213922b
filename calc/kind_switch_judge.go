package calc

import (
	"math"
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/switches"
)

// absent stands where a cycle has no value.
var absent = math.Inf(1)

// contactFound is what the cycles of one contact say.
type contactFound struct {
	*contact
	set, reset    []float64 // corrected for the latency, in order
	cycleSet      []float64 // by cycle, absent where there is none, of typed values
	cycleReset    []float64
	list          []switches.Transition
	trace         *workTrace
	halfStep      float64
	traced, start bool
	judged        switches.Judged
	verdict       string
	reason        string
}

// evaluateSwitch judges the sheet of a switch test.
func evaluateSwitch(in *document.Reader, out *document.Writer) error {
	s, err := laySwitch(in, nil)
	if err != nil {
		return err
	}
	sheet := s.readSheet()
	if err := in.Err(); err != nil {
		return err
	}
	missing := s.missing(&sheet)
	var all []contactFound
	for i := range s.contacts {
		f := contactFound{contact: &s.contacts[i]}
		if tr := sheet.traces[f.id+".trace"]; tr != nil {
			err = s.fromTrace(&f, tr)
		} else {
			s.fromTyped(&f, &sheet)
		}
		if err != nil {
			return err
		}
		s.judge(&f, s.lacks(&f, missing))
		all = append(all, f)
	}
	if err := in.Err(); err != nil {
		return err
	}
	verdict, reason := conformity.Pass, ""
	switch {
	case len(missing) > 0:
		verdict, reason = conformity.Undecided, strconv.Itoa(len(missing))+" values are missing"
	case !sheet.whole:
		verdict, reason = conformity.Undecided, "the run is not closed"
	default:
		for i := range all {
			f := &all[i]
			if f.verdict != conformity.Pass && (verdict == conformity.Pass || f.verdict == conformity.Fail && verdict != conformity.Fail) {
				verdict, reason = f.verdict, f.name+": "+f.reason
			}
		}
	}
	locked := false
	for i := range all {
		locked = locked || all[i].safety
	}
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	writeMissing(out, missing)
	if locked {
		out.Flag("locked", true)
	}
	s.writeResults(out, all)
	out.BeginObject("switch")
	if locked {
		out.Flag("locked", true)
	}
	out.BeginList("contacts")
	for i := range all {
		s.writeContact(out, &all[i])
	}
	out.EndList()
	out.End()
	gauge.WriteWarnings(out, s.warnings)
	return nil
}

// lacks says whether a value of the contact is still missing.
func (s *switchWork) lacks(f *contactFound, missing []string) bool {
	for _, id := range missing {
		for k := 1; k <= s.cycles; k++ {
			if cycle := "c" + strconv.Itoa(k) + "." + f.id; id == cycle+".set" || id == cycle+".reset" {
				return true
			}
		}
	}
	return false
}

// corrected takes off what the pressure moved while the contact was reported late.
func (s *switchWork) corrected(f *contactFound, p float64, set bool) float64 {
	moved := float64(s.rate * s.latency)
	if set != f.rising { // set of a rising contact and reset of a falling one happen while the pressure rises
		moved = -moved
	}
	return p - moved
}

// fromTyped takes the values that were read when the contact changed.
func (s *switchWork) fromTyped(f *contactFound, sheet *workSheet) {
	for k := 1; k <= s.cycles; k++ {
		cycle := "c" + strconv.Itoa(k) + "." + f.id
		both := [2]float64{absent, absent}
		for i, what := range []string{".set", ".reset"} {
			v, ok := sheet.one(cycle+what, "applied")
			if !ok {
				continue
			}
			if v.x < s.low || v.x > s.high {
				s.warn("implausible", v.field, f.name+": "+v.text+" lies outside the range of the instrument")
			}
			both[i] = s.corrected(f, v.x, i == 0)
			if i == 0 {
				f.set = append(f.set, both[i])
			} else {
				f.reset = append(f.reset, both[i])
			}
		}
		f.cycleSet, f.cycleReset = append(f.cycleSet, both[0]), append(f.cycleReset, both[1])
		if both[0] != absent && both[1] != absent && (f.rising && both[1] > both[0] || !f.rising && both[1] < both[0]) {
			s.warn("implausible", "captures", f.name+", cycle "+strconv.Itoa(k)+": the reset lies on the wrong side of the set point for a contact that acts this way")
		}
	}
}

// fromTrace finds the changes in a record.
func (s *switchWork) fromTrace(f *contactFound, tr *workTrace) error {
	f.trace, f.traced = tr, true
	if tr.contact == "" {
		s.in.Fail(document.CodeMissing, "traces", "the record for "+f.name+" has no column of the contact")
		return nil
	}
	x := switches.Trace{T: tr.t, P: tr.p, Contact: make([]bool, len(tr.contact))}
	for i := range len(tr.contact) {
		switch tr.contact[i] {
		case '1':
			x.Contact[i] = true
		case '0':
		default:
			s.in.Fail(document.CodeShape, "traces", "the contact of "+f.name+" must be one 0 or 1 for each sample")
			return nil
		}
	}
	list, err := switches.Transitions(x, s.debounce, s.bounce)
	if err != nil {
		return err
	}
	f.halfStep = float64(switches.MedianStep(tr.t) * s.rate / 2)
	if f.start = x.Contact[0] && (f.rising || !s.mixed()); f.start { // among contacts of both kinds a cycle begins with the falling ones set
		list = nil
	}
	f.list = list
	bounces := 0
	for _, c := range list {
		p := s.corrected(f, c.Middle, c.To)
		if c.To {
			f.set = append(f.set, p)
		} else {
			f.reset = append(f.reset, p)
		}
		bounces += c.Bounces
	}
	for i := range f.set {
		reset := absent
		if i < len(f.reset) {
			reset = f.reset[i]
		}
		f.cycleSet, f.cycleReset = append(f.cycleSet, f.set[i]), append(f.cycleReset, reset)
	}
	if bounces > 0 {
		s.warn("bounce", tr.field, f.name+": the contact bounced "+strconv.Itoa(bounces)+" times before it stayed")
	}
	if f.halfStep > float64(0.1*f.tolerance) {
		s.warn("half_step", tr.field, f.name+": between two samples the pressure moves by "+figure(float64(2*f.halfStep))+" "+s.spelling+"; half of that is more than a tenth of the tolerance")
	}
	if n := len(f.set); n > 0 && n < s.cycles {
		s.warn("approach", tr.field, f.name+": the record holds "+strconv.Itoa(n)+" actuations, the method asks for "+strconv.Itoa(s.cycles))
	}
	return nil
}

// judge gives the verdict of one contact.
func (s *switchWork) judge(f *contactFound, lacking bool) {
	f.judged = switches.Judge(f.set, f.reset, f.nominal, f.tolerance, f.band, f.start)
	f.verdict, f.reason = f.judged.Verdict, f.judged.Reason
	if lacking && !f.traced {
		f.verdict, f.reason = conformity.Undecided, "values are missing"
	}
	if f.traced && f.verdict == conformity.Pass && len(f.set) < s.cycles {
		f.verdict, f.reason = conformity.Undecided, "fewer cycles than the method asks for"
	}
	if f.verdict == conformity.Fail && f.reason == switches.ReasonSetPoint && len(f.set) > 1 {
		if rest := switches.Judge(f.set[1:], f.reset, f.nominal, f.tolerance, nil, false); rest.Verdict == conformity.Pass {
			f.reason = "set point, first actuation only"
		}
	}
	if apart, ok := f.apart(); ok {
		others := switches.Describe(f.set[1:])
		if limit := max(float64(3*others.SD), float64(f.tolerance/4)); math.Abs(apart) > limit {
			s.warn("first", "instrument.particulars.contacts", f.name+": the first actuation lies "+figure(apart)+" "+s.spelling+" from the mean of the others: it may stick after a standstill")
		}
	}
	if s.rate > float64(1.000001*rampShare*math.Abs(f.nominal)) && f.nominal != 0 {
		s.warn("rate", "method.rate", f.name+": the ramp is faster than 1 % of the set point a second; what the pressure moves until the contact is seen stands in the result")
	}
}

// apart is the first actuation less the mean of the others.
func (f *contactFound) apart() (float64, bool) {
	if len(f.set) < 2 {
		return 0, false
	}
	return f.set[0] - switches.Describe(f.set[1:]).Mean, true
}

func (s *switchWork) writeResults(out *document.Writer, all []contactFound) {
	var list []result
	for i := range all {
		f := &all[i]
		for _, of := range []struct {
			name   string
			values []float64
		}{{"set point", f.set}, {"reset point", f.reset}, {"dead band", f.judged.DeadBands}} {
			d := switches.Describe(of.values)
			if d.N == 0 {
				continue
			}
			least := result{name: f.name + ": " + of.name + ", minimum", value: d.Min, unit: s.spelling}
			most := result{name: f.name + ": " + of.name + ", maximum", value: d.Max, unit: s.spelling}
			for _, r := range []*result{&least, &most} {
				switch {
				case of.name == "set point":
					r.low, r.high, r.hasLow, r.hasHigh = f.nominal-f.tolerance, f.nominal+f.tolerance, true, true
				case of.name == "dead band" && f.band != nil:
					r.low, r.high, r.hasLow, r.hasHigh = f.band[0], f.band[1], true, true
				}
				if r.hasLow {
					r.source = s.source
					r.verdict = conformity.Pass
					if switches.Beyond(r.low, r.value, f.nominal) || switches.Beyond(r.value, r.high, f.nominal) {
						r.verdict, r.reason = conformity.Fail, of.name
					}
				}
			}
			list = append(list, result{name: f.name + ": " + of.name + ", mean", value: d.Mean, unit: s.spelling}, least, most)
			if d.HasSD {
				list = append(list, result{name: f.name + ": " + of.name + ", range", value: d.Range, unit: s.spelling}, result{name: f.name + ": " + of.name + ", standard deviation", value: d.SD, unit: s.spelling})
			}
		}
		if len(f.set) > 0 {
			list = append(list, result{name: f.name + ": first actuation", value: f.set[0], unit: s.spelling})
		}
	}
	for i := range list { // what is left of the rounding of equal values is none
		if math.Abs(list[i].value) < float64(1e-12*max(math.Abs(s.low), math.Abs(s.high))) {
			list[i].value = 0
		}
	}
	writeResults(out, list)
}

func (s *switchWork) writeContact(out *document.Writer, f *contactFound) {
	out.Begin()
	out.Text("name", f.name)
	acts := "falling"
	if f.rising {
		acts = "rising"
	}
	out.Text("acts", acts)
	out.Number("nominal", f.nominal)
	out.Number("tolerance", f.tolerance)
	if f.band != nil {
		out.Number("dead_band_low", f.band[0])
		out.Number("dead_band_high", f.band[1])
	}
	if f.safe != "" {
		out.Text("safe", f.safe)
	}
	if f.safety {
		out.Flag("safety_function", true)
	}
	switches.WriteStatistics(out, "set", f.set)
	switches.WriteStatistics(out, "reset", f.reset)
	switches.WriteStatistics(out, "dead_band", f.judged.DeadBands)
	if len(f.set) > 0 {
		out.Number("first_set", f.set[0])
	}
	if x, ok := f.apart(); ok {
		out.Number("first_apart", x)
	}
	out.BeginList("cycles")
	for i := range f.cycleSet {
		out.Begin()
		a, b := f.cycleSet[i], f.cycleReset[i]
		if a != absent {
			out.Number("set", a)
		}
		if b != absent {
			out.Number("reset", b)
		}
		if a != absent && b != absent {
			out.Number("dead_band", math.Abs(a-b))
		}
		out.End()
	}
	out.EndList()
	if f.traced {
		switches.WriteTransitions(out, f.list)
		out.Number("half_step", f.halfStep)
		out.Number("u_sampling", f.halfStep/math.Sqrt(3))
	}
	out.Text("verdict", f.verdict)
	if f.reason != "" {
		out.Text("reason", f.reason)
	}
	if f.traced {
		s.writeDrawing(out, f)
	}
	out.End()
}

// writeDrawing writes some 400 samples of the record, with those around every change of the contact.
func (s *switchWork) writeDrawing(out *document.Writer, f *contactFound) {
	keep := make([]bool, len(f.trace.t))
	for _, i := range thinned(len(keep), 300) {
		keep[i] = true
	}
	for k := 0; k < len(f.list) && k < 50; k++ {
		keep[f.list[k].Index-1], keep[f.list[k].Index] = true, true
	}
	var t, p []float64
	contact := make([]byte, 0, 400)
	for i, on := range keep {
		if on {
			t, p, contact = append(t, f.trace.t[i]), append(p, f.trace.p[i]), append(contact, f.trace.contact[i])
		}
	}
	writeNumbers(out, "t_s", t)
	writeNumbers(out, "p", p)
	out.Text("contact", string(contact))
}
