package bursttest

import (
	"math"
	"strconv"

	"gaugewright/calc/burst"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/work"
)

// discFound is what is known about one disc.
type discFound struct {
	id, identity             string
	number                   int
	temperature              float64
	hasTemperature           bool
	peak, raw                float64
	burst, saturated, traced bool
	found                    burst.Found
	trace                    *work.Trace
	step                     float64 // change of the ramp between two samples
	verdict, reason          string
	typed                    float64 // the peak as the standard showed it
	noise                    burst.Noise
	noisy                    bool // enough samples before the peak to know the noise
	digit                    float64
	judged                   work.Weighed
}

// Kind is the kind of work on rupture discs.
func Kind() work.Kind { return work.Measured("burst", expand, evaluate, doubtsOfBurst) }

// evaluate judges the sheet of a burst test.
func evaluate(
	in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64),
) error {
	b, err := layBurst(in, nil)
	if err != nil {
		return err
	}
	b.Elsewhere, b.Taken = elsewhere, taken
	s := b.ReadSheet()
	if err := in.Err(); err != nil {
		return err
	}
	missing := b.Missing(&s)
	var discs []discFound
	for k := 1; k <= b.discs; k++ {
		d, ok, err := b.disc(k, &s)
		if err != nil {
			return err
		}
		if ok {
			discs = append(discs, d)
		}
	}
	b.lookAtDiscs(&s)
	var values []float64
	for i := range discs {
		if d := &discs[i]; d.burst && !d.saturated {
			values = append(values, d.peak)
		}
	}
	var lot *burst.Lot
	if len(values) > 1 {
		l := burst.Statement(values, b.marked, b.tolerance)
		if b.hasRange {
			l.Within(b.requested, b.rangeLow, b.rangeHi)
		}
		lot = &l
	}
	verdict, reason := b.whole(discs, lot, missing, s.Whole)
	verdict, reason = b.Stops.Verdict(verdict, reason)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	work.WriteMissing(out, missing)
	b.writeResults(out, discs, lot)
	b.WriteStored(out)
	out.BeginObject("burst")
	b.WriteDecision(out)
	out.Number("marked", b.marked)
	out.Number("tolerance", b.tolerance)
	out.Number("limit_low", b.marked-b.tolerance)
	out.Number("limit_high", b.marked+b.tolerance)
	out.Number("full_scale", b.fullScale)
	if b.lot != "" {
		out.Text("lot", b.lot)
	}
	if b.lotSize > 0 {
		out.Whole("lot_size", b.lotSize)
	}
	out.BeginList("discs")
	for i := range discs {
		b.writeDisc(out, &discs[i])
	}
	out.EndList()
	if lot != nil {
		out.BeginObject("statement")
		lot.Write(out, b.tolerance)
		out.End()
	}
	out.Text("sentence", b.sentence(len(values), lot))
	out.End()
	gauge.WriteWarnings(out, b.Stops.Before(b.Warnings))
	return nil
}

// lookAtDiscs leaves the verdict of a run open if two discs have the same identity or a temperature
// is impossible.
func (b *burstWork) lookAtDiscs(s *work.Sheet) {
	var known []work.Value
	var numbers []string
	for k := 1; k <= b.discs; k++ {
		number := strconv.Itoa(k)
		if v, ok := s.Number("d" + number + ".temp"); ok {
			if why := work.NoPart(v.X); why != "" {
				b.Stops.Add(work.StopPlace, v.Field, "disc "+number+": "+why)
			}
		}
		v, ok := s.One("d"+number+".disc", "answer")
		if !ok {
			continue
		}
		for i := range known {
			if sameDisc(known[i].Text, v.Text) {
				b.Stops.Add(work.StopDisc, v.Field, discTwice(numbers[i], number, v.Text))
				break
			}
		}
		known, numbers = append(known, v), append(numbers, number)
	}
}

// disc reads what was recorded of one disc.
func (b *burstWork) disc(k int, s *work.Sheet) (discFound, bool, error) {
	d := discFound{id: "d" + strconv.Itoa(k), number: k}
	if v, ok := s.One(d.id+".disc", "answer"); ok {
		d.identity = v.Text
	}
	if v, ok := s.Number(d.id + ".temp"); ok {
		d.temperature, d.hasTemperature = v.X, true
		if b.hasCoincident && math.Abs(v.X-b.coincident) > 5 {
			b.Warn("temperature", v.Field, "disc "+strconv.Itoa(k)+" burst at "+work.Figure(v.X)+" °C; its pressure is marked for "+work.Figure(b.coincident)+" °C")
		}
	}
	if v, ok := s.One(d.id+".shield", "answer"); ok && v.Text == "no" {
		b.Warn("shield", v.Field, "disc "+strconv.Itoa(k)+": it was said that the shield was not closed")
	}
	if tr := s.Traces[d.id]; tr != nil {
		return d, true, b.fromTrace(&d, tr)
	}
	v, ok := s.One(d.id, "applied")
	if !ok {
		return d, false, nil
	}
	answer, answered := s.One(d.id+".burst", "answer")
	d.digit = b.Resolution
	if d.digit == 0 {
		d.digit = numeric.LastDigit(numeric.DecimalPlaces(v.Text))
	}
	d.peak, d.typed, d.burst = v.X, v.Typed, !answered || answer.Text == "yes"
	if most := float64(3 * max(math.Abs(b.Low), math.Abs(b.High))); math.Abs(d.peak) > most {
		b.Warn(
			"implausible", v.Field,
			"disc "+strconv.Itoa(k)+": "+v.Text+" is far beyond the range of the instrument: is the unit right?",
		)
	}
	b.judge(&d)
	return d, true, nil
}

// fromTrace looks for the burst in a record.
func (b *burstWork) fromTrace(d *discFound, tr *work.Trace) error {
	d.trace, d.traced = tr, true
	n := len(tr.T)
	if n < 3 {
		return document.Refuse(document.CodeShape, "traces", "the record of a disc needs at least three samples")
	}
	interval := b.interval
	if !b.hasInterval {
		interval = (tr.T[n-1] - tr.T[0]) / float64(n-1)
	}
	d.step = float64(b.rate * interval)
	detector := b.detector
	if !b.spikeStated {
		detector.Spike = max(float64(0.02*b.marked), float64(3*d.step))
	}
	found, err := burst.Detect(tr.T, tr.P, detector)
	if err != nil {
		return err
	}
	d.found, d.peak, d.burst, d.raw = found, found.Peak, found.Burst, found.RawMaximum
	if d.raw > d.peak {
		b.Warn("spike", tr.Field, "disc "+strconv.Itoa(d.number)+": a single sample stood at "+work.Figure(d.raw)+" "+b.Spelling+" and was taken for a disturbance of the sensor")
	}
	if detector.Spike < float64(3*d.step) {
		b.Warn("spike_threshold", "method.spike_threshold", "is below three steps of the ramp: a hard stroke of the pump just before the burst could be taken for a spike")
	}
	d.typed, d.digit = tr.Typed[found.PeakIndex], b.Resolution
	if found.Burst {
		if d.noise, d.noisy = burst.NoiseOf(tr.T, tr.P, found, detector.Spike); !d.noisy && b.HasStandard {
			b.Warn("few_samples", tr.Field, "disc "+strconv.Itoa(d.number)+": too few samples stand before the burst to know the noise of the record; it is not in the uncertainty")
		}
	}
	b.judge(d)
	return nil
}

// judge compares one disc with the tolerance.
func (b *burstWork) judge(d *discFound) {
	d.saturated = d.typed >= b.fullScale
	a := b.AmountOf(d.peak, d.typed, d.digit, 0)
	if d.traced {
		a.Terms = work.Rectangular(a.Terms, "sampling", d.step)
		if d.noisy && d.noise.U > 0 {
			a.Terms = append(
				a.Terms,
				uncertainty.Term{
					Name: "noise", U: d.noise.U, Sensitivity: 1, DOF: d.noise.DOF, Shape: uncertainty.Normal,
				},
			)
		}
	}
	d.judged = b.Weigh(&a, b.within(), "outside tolerance")
	switch {
	case !d.burst:
		d.verdict, d.reason = conformity.Undecided, "no burst"
		if d.peak >= b.end {
			d.reason = "no burst up to the end limit"
		}
	case d.saturated:
		d.verdict, d.reason = conformity.Undecided, "at least: sensor at full scale"
	default:
		d.verdict, d.reason = d.judged.Verdict, d.judged.Reason
	}
}

func (b *burstWork) within() work.Limits {
	return work.Limits{Low: b.marked - b.tolerance, High: b.marked + b.tolerance, HasLow: true, HasHigh: true}
}

func (b *burstWork) whole(discs []discFound, lot *burst.Lot, missing []string, whole bool) (verdict, reason string) {
	if notYet := work.OpenReason(len(missing), whole, "values"); notYet != "" {
		return conformity.Undecided, notYet
	}
	verdict = conformity.Pass
	for i := range discs {
		d := &discs[i]
		if work.WorseVerdict(d.verdict, verdict) {
			verdict, reason = d.verdict, "disc "+strconv.Itoa(d.number)+": "+d.reason
		}
	}
	if lot != nil && lot.HasRange && !lot.MeanInRange {
		return conformity.Fail, "mean outside the manufacturing range"
	}
	return verdict, reason
}

// sentence returns in plain words what the discs show about their lot.
func (b *burstWork) sentence(n int, lot *burst.Lot) string {
	switch {
	case n == 0:
		return "No disc has burst, so nothing can be said of the lot."
	case n == 1:
		return "One disc says nothing of the others of its lot: at least two are needed for a mean and a deviation."
	case lot.Small(b.marked, b.tolerance):
		return strconv.Itoa(n) + " discs are too few, or scatter too much, to say with 95 % confidence that 95 % of the lot lie within tolerance: that would have to hold from " +
			work.Figure(lot.TwoSided95[0]) + " to " + work.Figure(lot.TwoSided95[1]) + " " + b.Spelling + "."
	}
	return "With 95 % confidence at least 95 % of the lot burst between " + work.Figure(lot.TwoSided95[0]) + " and " + work.Figure(lot.TwoSided95[1]) + " " + b.Spelling +
		", within tolerance, if these " + strconv.Itoa(n) + " discs were drawn at random."
}

func (b *burstWork) writeResults(out *document.Writer, discs []discFound, lot *burst.Lot) {
	var list []work.Result
	for i := range discs {
		d := &discs[i]
		r := work.Result{Name: "disc " + strconv.Itoa(d.number), Value: d.peak, Unit: b.Spelling, Source: b.LimitSource}
		d.judged.Give(&r, b.within())
		r.Verdict, r.Reason = d.verdict, d.reason
		if d.identity != "" {
			r.Name += ", " + d.identity
		}
		list = append(list, r)
	}
	if lot != nil {
		mean := work.Result{Name: "lot: mean", Value: lot.Mean, Unit: b.Spelling}
		if lot.HasRange {
			mean.Low, mean.High, mean.HasLow, mean.HasHigh, mean.Verdict, mean.Source = lot.RangeLow, lot.RangeHigh, true, true, conformity.Pass, "manufacturing range"
			if !lot.MeanInRange {
				mean.Verdict, mean.Reason = conformity.Fail, "outside the manufacturing range"
			}
		}
		list = append(list, mean, work.Result{Name: "lot: standard deviation", Value: lot.SD, Unit: b.Spelling},
			work.Result{
				Name: "lot: 95 % interval at 95 % confidence, lower end", Value: lot.TwoSided95[0], Unit: b.Spelling,
			},
			work.Result{
				Name: "lot: 95 % interval at 95 % confidence, upper end", Value: lot.TwoSided95[1], Unit: b.Spelling,
			})
	}
	work.WriteResults(out, list)
}

func (b *burstWork) writeDisc(out *document.Writer, d *discFound) {
	out.Begin()
	out.Whole("disc", d.number)
	out.Text("step", d.id)
	if d.identity != "" {
		out.Text("identity", d.identity)
	}
	if d.hasTemperature {
		out.Number("temperature_c", d.temperature)
	}
	out.Number("peak", d.peak)
	if d.typed != d.peak {
		out.Number("typed", d.typed)
	}
	if d.burst {
		out.Number("deviation", d.peak-b.marked)
		out.Number("deviation_percent", 100*(d.peak-b.marked)/b.marked)
	}
	out.Flag("burst", d.burst)
	out.Flag("saturated", d.saturated)
	if d.traced {
		out.Number("raw_maximum", d.raw)
		out.Whole("peak_index", d.found.PeakIndex)
		out.Number("peak_t_s", d.trace.T[d.found.PeakIndex])
		if d.burst {
			out.Whole("drop_index", d.found.DropIndex)
			out.Number("drop_t_s", d.trace.T[d.found.DropIndex])
		}
		out.Number("sampling_step", d.step)
		out.Number("u_sampling", d.step/math.Sqrt(12))
		out.Number("lag_error", float64(b.rate*b.lag))
		if d.noisy {
			out.Number("u_noise", d.noise.U)
		}
	}
	out.Text("verdict", d.verdict)
	if d.reason != "" {
		out.Text("reason", d.reason)
	}
	if d.traced {
		b.writeDrawing(out, d)
	}
	out.End()
}

// writeDrawing writes some 400 samples of the record, closer around the peak.
func (b *burstWork) writeDrawing(out *document.Writer, d *discFound) {
	n := len(d.trace.T)
	keep := make([]bool, n)
	for _, i := range work.Thinned(n, 280) {
		keep[i] = true
	}
	for i := max(0, d.found.PeakIndex-60); i < min(n, d.found.PeakIndex+60); i++ {
		keep[i] = true
	}
	var t, p []float64
	for i, on := range keep {
		if on {
			t, p = append(t, d.trace.T[i]), append(p, d.trace.P[i])
		}
	}
	work.WriteNumbers(out, "t_s", t)
	work.WriteNumbers(out, "p", p)
}
