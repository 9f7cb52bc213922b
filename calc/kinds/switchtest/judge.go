package switchtest

import (
	"math"
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/switches"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/work"
)

// absent stands for the value of a cycle that has none.
var absent = math.Inf(1)

// contactFound is the result of the cycles of one contact.
type contactFound struct {
	*contact
	set, reset    []float64     // corrected for the latency, in order
	sets, resets  []work.Amount // the same with their uncertainty terms
	bands         []work.Amount
	setW, bandW   []work.Weighed
	sticks        bool      // the first actuation differs from all others
	cycleSet      []float64 // typed values by cycle, absent if missing
	cycleReset    []float64
	list          []switches.Transition
	trace         *work.Trace
	halfStep      float64
	traced, start bool
	judged        switches.Judged
	verdict       string
	reason        string
}

// Kind is the kind of work on pressure switches.
func Kind() work.Kind {
	return work.Measured("switch", expand, evaluate, work.Mistyped(expand))
}

// evaluate judges the sheet of a switch test.
func evaluate(
	in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64),
) error {
	s, err := laySwitch(in, nil)
	if err != nil {
		return err
	}
	s.Elsewhere, s.Taken = elsewhere, taken
	sheet := s.ReadSheet()
	if err := in.Err(); err != nil {
		return err
	}
	missing := s.Missing(&sheet)
	var all []contactFound
	for i := range s.contacts {
		f := contactFound{contact: &s.contacts[i]}
		if tr := sheet.Traces[f.id+".trace"]; tr != nil {
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
	verdict, reason := conformity.Pass, work.OpenReason(len(missing), sheet.Whole, "values")
	if reason != "" {
		verdict = conformity.Undecided
	} else {
		for i := range all {
			f := &all[i]
			if work.WorseVerdict(f.verdict, verdict) {
				verdict, reason = f.verdict, f.name+": "+f.reason
			}
		}
	}
	locked := false
	for i := range all {
		locked = locked || all[i].safety
	}
	verdict, reason = s.Stops.Verdict(verdict, reason)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	work.WriteMissing(out, missing)
	if locked {
		out.Flag("locked", true)
	}
	s.writeResults(out, all)
	out.BeginObject("switch")
	s.WriteDecision(out)
	if locked {
		out.Flag("locked", true)
	}
	out.BeginList("contacts")
	for i := range all {
		s.writeContact(out, &all[i])
	}
	out.EndList()
	out.End()
	gauge.WriteWarnings(out, s.Stops.Before(s.Warnings))
	return nil
}

// lacks reports whether a value of the contact is still missing.
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

// corrected subtracts the change of pressure during the delay in reporting the contact.
func (s *switchWork) corrected(f *contactFound, p float64, set bool) float64 {
	moved := float64(s.rate * s.latency)
	if set != f.rising { // a rising contact sets and a falling one resets while the pressure rises
		moved = -moved
	}
	return p - moved
}

// fromTyped reads the values typed when the contact changed.
func (s *switchWork) fromTyped(f *contactFound, sheet *work.Sheet) {
	for k := 1; k <= s.cycles; k++ {
		cycle := "c" + strconv.Itoa(k) + "." + f.id
		both := [2]float64{absent, absent}
		for i, what := range []string{".set", ".reset"} {
			v, ok := sheet.One(cycle+what, "applied")
			if !ok {
				continue
			}
			if v.X < s.Low || v.X > s.High {
				s.Warn("implausible", v.Field, f.name+": "+v.Text+" lies outside the range of the instrument")
			}
			both[i] = s.corrected(f, v.X, i == 0)
			step := s.Resolution
			if step == 0 {
				step = numeric.LastDigit(numeric.DecimalPlaces(v.Text))
			}
			f.add(s.AmountOf(both[i], v.Typed, step, 0), i == 0)
		}
		f.cycleSet, f.cycleReset = append(f.cycleSet, both[0]), append(f.cycleReset, both[1])
		if both[0] != absent && both[1] != absent && (f.rising && both[1] > both[0] || !f.rising && both[1] < both[0]) {
			s.Warn("implausible", "captures", f.name+", cycle "+strconv.Itoa(k)+": the reset lies on the wrong side of the set point for a contact that acts this way")
		}
	}
}

// add keeps a set or a reset point.
func (f *contactFound) add(a work.Amount, set bool) {
	if set {
		f.set, f.sets = append(f.set, a.Value), append(f.sets, a)
	} else {
		f.reset, f.resets = append(f.reset, a.Value), append(f.resets, a)
	}
}

// fromTrace finds the changes in a record.
func (s *switchWork) fromTrace(f *contactFound, tr *work.Trace) error {
	f.trace, f.traced = tr, true
	if tr.Contact == "" {
		s.In.Fail(document.CodeMissing, "traces", "the record for "+f.name+" has no column of the contact")
		return nil
	}
	x := switches.Trace{T: tr.T, P: tr.P, Contact: make([]bool, len(tr.Contact))}
	for i := range len(tr.Contact) {
		switch tr.Contact[i] {
		case '1':
			x.Contact[i] = true
		case '0':
		default:
			s.In.Fail(document.CodeShape, "traces", "the contact of "+f.name+" must be one 0 or 1 for each sample")
			return nil
		}
	}
	list, err := switches.Transitions(x, s.debounce, s.bounce)
	if err != nil {
		return err
	}
	f.halfStep = float64(switches.MedianStep(tr.T) * s.rate / 2)
	if f.start = x.Contact[0] && (f.rising || !s.mixed()); f.start { // of both kinds, the falling ones begin set
		list = nil
	}
	f.list = list
	bounces, widest := 0, 0.0
	for _, c := range list {
		typed := float64((tr.Typed[c.Index-1] + tr.Typed[c.Index]) / 2)
		f.add(s.AmountOf(s.corrected(f, c.Middle, c.To), typed, s.Resolution, c.HalfWidth), c.To)
		widest = max(widest, c.HalfWidth)
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
		s.Warn("bounce", tr.Field, f.name+": the contact bounced "+strconv.Itoa(bounces)+" times before it stayed")
	}
	if !s.rateStated { // the record shows the rate
		f.halfStep = widest
	}
	if moved := max(widest, f.halfStep); moved > float64(0.1*f.tolerance) {
		s.Warn("half_step", tr.Field, f.name+": between two samples the pressure moves by "+work.Figure(float64(2*moved))+" "+s.Spelling+"; half of that is more than a tenth of the tolerance")
	}
	if n := len(f.set); n > 0 && n < s.cycles {
		s.Warn(
			"approach", tr.Field,
			f.name+": the record holds "+strconv.Itoa(n)+" actuations, the method asks for "+strconv.Itoa(s.cycles),
		)
	}
	return nil
}

// judge gives the verdict of one contact.
func (s *switchWork) judge(f *contactFound, lacking bool) {
	f.judged = switches.Judge(f.set, f.reset, f.nominal, f.tolerance, f.band, f.start)
	f.verdict, f.reason = f.judged.Verdict, f.judged.Reason
	s.weighAll(f)
	if lacking && !f.traced {
		f.verdict, f.reason = conformity.Undecided, "values are missing"
	}
	if f.traced && f.verdict == conformity.Pass && len(f.set) < s.cycles {
		f.verdict, f.reason = conformity.Undecided, "fewer cycles than the method asks for"
	}
	if len(f.set) > 1 {
		others := switches.Describe(f.set[1:])
		beside := max(f.set[0]-others.Max, others.Min-f.set[0])
		if f.sticks = beside > max(float64(3*others.SD), float64(f.tolerance/4)); f.sticks {
			apart, _ := f.apart()
			s.Warn("first", "instrument.particulars.contacts", f.name+": the first actuation lies "+work.Figure(apart)+" "+s.Spelling+" from the mean of the others: it may stick after a standstill")
		}
	}
	if s.rate > float64(1.000001*rampShare*math.Abs(f.nominal)) && f.nominal != 0 {
		s.Warn("rate", "method.rate", f.name+": the ramp is faster than 1 % of the set point a second; what the pressure moves until the contact is seen is part of the result")
	}
}

// weighAll judges every set point and every dead band by its limits. The verdict is the worst of
// them, unless the contact never acted.
func (s *switchWork) weighAll(f *contactFound) {
	for i := range f.sets {
		f.setW = append(f.setW, s.Weigh(&f.sets[i], f.limits(), switches.ReasonSetPoint))
		if i < len(f.resets) {
			band := work.Apart(&f.sets[i], &f.resets[i])
			f.bands = append(f.bands, band)
			f.bandW = append(f.bandW, s.Weigh(&band, f.bandLimits(), switches.ReasonDeadBand))
		}
	}
	switch f.judged.Reason {
	case switches.ReasonAtStart, switches.ReasonNoSet, switches.ReasonNoReset:
		return
	}
	f.verdict, f.reason = conformity.Pass, ""
	rest := conformity.Pass // without the first actuation
	for k, list := range [][]work.Weighed{f.setW, f.bandW} {
		for i := range list {
			v := &list[i]
			if work.WorseVerdict(v.Verdict, f.verdict) && v.Verdict != "" {
				f.verdict, f.reason = v.Verdict, v.Reason
			}
			if (k > 0 || i > 0) && v.Verdict != "" && work.WorseVerdict(v.Verdict, rest) {
				rest = v.Verdict
			}
		}
	}
	if f.verdict == conformity.Fail && f.reason == switches.ReasonSetPoint && len(f.setW) > 1 &&
		rest == conformity.Pass {
		f.reason = "set point, first actuation only"
	}
}

func (f *contactFound) limits() work.Limits {
	return work.Limits{Low: f.nominal - f.tolerance, High: f.nominal + f.tolerance, HasLow: true, HasHigh: true}
}

func (f *contactFound) bandLimits() work.Limits {
	if f.band == nil {
		return work.Limits{}
	}
	return work.Limits{Low: f.band[0], High: f.band[1], HasLow: true, HasHigh: true}
}

// apart returns the first actuation less the mean of the others.
func (f *contactFound) apart() (float64, bool) {
	if len(f.set) < 2 {
		return 0, false
	}
	return f.set[0] - switches.Describe(f.set[1:]).Mean, true
}

// extremes returns the indices of the smallest and the largest value.
func extremes(list []float64) (least, most int) {
	for i, x := range list {
		if x < list[least] {
			least = i
		}
		if x > list[most] {
			most = i
		}
	}
	return least, most
}

// mean returns the mean of amounts. The terms of the standard and the level are the same in all of
// them, those of reading and sampling fall with their number, and the scatter enters as its
// standard deviation.
func (s *switchWork) mean(list []work.Amount, d switches.Statistics) work.Weighed {
	widest := 0
	size := func(a *work.Amount) float64 {
		sum := 0.0
		for _, t := range a.Terms {
			sum += float64(t.U * t.U)
		}
		return sum
	}
	for i := range list {
		if size(&list[i]) > size(&list[widest]) {
			widest = i
		}
	}
	a := work.Amount{Value: d.Mean, Typed: list[widest].Typed, Lacks: list[widest].Lacks}
	root := math.Sqrt(float64(d.N))
	for _, t := range list[widest].Terms {
		if t.Name == "res" || t.Name == "sampling" {
			t.U /= root
		}
		a.Terms = append(a.Terms, t)
	}
	if d.HasSD && d.SD > 0 {
		a.Terms = append(
			a.Terms,
			uncertainty.Term{
				Name: "rep", U: d.SD / root, Sensitivity: 1, DOF: float64(d.N - 1), Shape: uncertainty.Normal,
			},
		)
	}
	return s.Weigh(&a, work.Limits{}, "")
}

func (s *switchWork) writeResults(out *document.Writer, all []contactFound) {
	var list []work.Result
	for i := range all {
		f := &all[i]
		for _, of := range []struct {
			name    string
			values  []float64
			amounts []work.Amount
			limits  work.Limits
		}{
			{"set point", f.set, f.sets, f.limits()}, {"reset point", f.reset, f.resets, work.Limits{}},
			{"dead band", f.judged.DeadBands, f.bands, f.bandLimits()},
		} {
			d := switches.Describe(of.values)
			if d.N == 0 {
				continue
			}
			mean := work.Result{Name: f.name + ": " + of.name + ", mean", Value: d.Mean, Unit: s.Spelling}
			whole := s.mean(of.amounts, d)
			whole.Give(&mean, work.Limits{})
			least := work.Result{Name: f.name + ": " + of.name + ", minimum", Value: d.Min, Unit: s.Spelling}
			most := work.Result{Name: f.name + ": " + of.name + ", maximum", Value: d.Max, Unit: s.Spelling}
			low, high := extremes(of.values)
			for k, at := range [2]int{low, high} {
				r := [2]*work.Result{&least, &most}[k]
				v := s.Weigh(&of.amounts[at], of.limits, of.name)
				v.Give(r, of.limits)
				if r.HasLow {
					r.Source = s.LimitSource
				}
			}
			list = append(list, mean, least, most)
			if d.HasSD {
				list = append(
					list,
					work.Result{Name: f.name + ": " + of.name + ", range", Value: d.Range, Unit: s.Spelling},
					work.Result{Name: f.name + ": " + of.name + ", standard deviation", Value: d.SD, Unit: s.Spelling},
				)
			}
		}
		if len(f.set) > 0 {
			first := work.Result{Name: f.name + ": first actuation", Value: f.set[0], Unit: s.Spelling}
			f.setW[0].Give(&first, work.Limits{})
			first.Verdict, first.Reason = "", ""
			list = append(list, first)
		}
	}
	for i := range list { // a difference that is only rounding counts as none
		if math.Abs(list[i].Value) < float64(1e-12*max(math.Abs(s.Low), math.Abs(s.High))) {
			list[i].Value = 0
		}
	}
	work.WriteResults(out, list)
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
	out.Number("limit_low", f.nominal-f.tolerance)
	out.Number("limit_high", f.nominal+f.tolerance)
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
		out.Flag("first_sticks", f.sticks)
	}
	sets, resets := 0, 0
	out.BeginList("cycles")
	for i := range f.cycleSet {
		out.Begin()
		a, b := f.cycleSet[i], f.cycleReset[i]
		if a != absent {
			out.Number("set", a)
			writeTypedAt(out, "set_typed", f.sets, &sets)
		}
		if b != absent {
			out.Number("reset", b)
			writeTypedAt(out, "reset_typed", f.resets, &resets)
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

// writeTypedAt writes what the standard showed, if the pressure differs from it, and advances to
// the next of the list.
func writeTypedAt(out *document.Writer, name string, list []work.Amount, at *int) {
	if a := &list[*at]; a.Typed != a.Value {
		out.Number(name, a.Typed)
	}
	*at++
}

// writeDrawing writes some 400 samples of the record, with those around every change of the
// contact.
func (s *switchWork) writeDrawing(out *document.Writer, f *contactFound) {
	keep := make([]bool, len(f.trace.T))
	for _, i := range work.Thinned(len(keep), 300) {
		keep[i] = true
	}
	for k := 0; k < len(f.list) && k < 50; k++ {
		keep[f.list[k].Index-1], keep[f.list[k].Index] = true, true
	}
	var t, p []float64
	contact := make([]byte, 0, 400)
	for i, on := range keep {
		if on {
			t, p, contact = append(t, f.trace.T[i]), append(p, f.trace.P[i]), append(contact, f.trace.Contact[i])
		}
	}
	work.WriteNumbers(out, "t_s", t)
	work.WriteNumbers(out, "p", p)
	out.Text("contact", string(contact))
}
