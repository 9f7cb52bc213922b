package calc

import (
	"math"
	"strconv"

	"gaugewright/calc/burst"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
)

// discFound is what is known of one disc.
type discFound struct {
	id, identity             string
	number                   int
	temperature              float64
	hasTemperature           bool
	peak, raw                float64
	burst, saturated, traced bool
	found                    burst.Found
	trace                    *workTrace
	step                     float64 // that the ramp moves between two samples
	verdict, reason          string
}

// evaluateBurst judges the sheet of a burst test.
func evaluateBurst(in *document.Reader, out *document.Writer) error {
	b, err := layBurst(in, nil)
	if err != nil {
		return err
	}
	s := b.readSheet()
	if err := in.Err(); err != nil {
		return err
	}
	missing := b.missing(&s)
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
	verdict, reason := b.whole(discs, lot, missing, s.whole)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	writeMissing(out, missing)
	b.writeResults(out, discs, lot)
	b.writeStored(out)
	out.BeginObject("burst")
	out.Number("marked", b.marked)
	out.Number("tolerance", b.tolerance)
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
	gauge.WriteWarnings(out, b.warnings)
	return nil
}

// disc takes what was recorded of one disc.
func (b *burstWork) disc(k int, s *workSheet) (discFound, bool, error) {
	d := discFound{id: "d" + strconv.Itoa(k), number: k}
	if v, ok := s.one(d.id+".disc", "answer"); ok {
		d.identity = v.text
	}
	if v, ok := s.number(d.id + ".temp"); ok {
		d.temperature, d.hasTemperature = v.x, true
		if b.hasCoincident && math.Abs(v.x-b.coincident) > 5 {
			b.warn("temperature", v.field, "disc "+strconv.Itoa(k)+" burst at "+figure(v.x)+" °C; its pressure is marked for "+figure(b.coincident)+" °C")
		}
	}
	if v, ok := s.one(d.id+".shield", "answer"); ok && v.text == "no" {
		b.warn("shield", v.field, "disc "+strconv.Itoa(k)+": it was said that the shield was not closed")
	}
	if tr := s.traces[d.id]; tr != nil {
		return d, true, b.fromTrace(&d, tr)
	}
	v, ok := s.one(d.id, "applied")
	if !ok {
		return d, false, nil
	}
	answer, answered := s.one(d.id+".burst", "answer")
	d.peak, d.burst = v.x, !answered || answer.text == "yes"
	if most := float64(3 * max(math.Abs(b.low), math.Abs(b.high))); math.Abs(d.peak) > most {
		b.warn("implausible", v.field, "disc "+strconv.Itoa(k)+": "+v.text+" is far beyond the range of the instrument: is the unit right?")
	}
	b.judge(&d)
	return d, true, nil
}

// fromTrace looks for the burst in a record.
func (b *burstWork) fromTrace(d *discFound, tr *workTrace) error {
	d.trace, d.traced = tr, true
	n := len(tr.t)
	if n < 3 {
		return document.Refuse(document.CodeShape, "traces", "the record of a disc needs at least three samples")
	}
	interval := b.interval
	if !b.hasInterval {
		interval = (tr.t[n-1] - tr.t[0]) / float64(n-1)
	}
	d.step = float64(b.rate * interval)
	detector := b.detector
	if !b.spikeStated {
		detector.Spike = max(float64(0.02*b.marked), float64(3*d.step))
	}
	found, err := burst.Detect(tr.t, tr.p, detector)
	if err != nil {
		return err
	}
	d.found, d.peak, d.burst, d.raw = found, found.Peak, found.Burst, found.RawMaximum
	if d.raw > d.peak {
		b.warn("spike", tr.field, "disc "+strconv.Itoa(d.number)+": a single sample stood at "+figure(d.raw)+" "+b.spelling+" and was taken for a disturbance of the sensor")
	}
	if detector.Spike < float64(3*d.step) {
		b.warn("spike_threshold", "method.spike_threshold", "is below three steps of the ramp: a hard stroke of the pump just before the burst could be taken for a spike")
	}
	b.judge(d)
	return nil
}

// judge holds one disc against the tolerance.
func (b *burstWork) judge(d *discFound) {
	d.saturated = d.peak >= b.fullScale
	switch {
	case !d.burst:
		d.verdict, d.reason = conformity.Undecided, "no burst"
		if d.peak >= b.end {
			d.reason = "no burst up to the end limit"
		}
	case d.saturated:
		d.verdict, d.reason = conformity.Undecided, "at least: sensor at full scale"
	case burst.Beyond(d.peak-b.marked, b.tolerance, b.marked):
		d.verdict, d.reason = conformity.Fail, "outside tolerance"
	default:
		d.verdict = conformity.Pass
	}
}

func (b *burstWork) whole(discs []discFound, lot *burst.Lot, missing []string, whole bool) (verdict, reason string) {
	switch {
	case len(missing) > 0:
		return conformity.Undecided, strconv.Itoa(len(missing)) + " values are missing"
	case !whole:
		return conformity.Undecided, "the run is not closed"
	}
	verdict = conformity.Pass
	for i := range discs {
		d := &discs[i]
		if d.verdict == conformity.Fail {
			return d.verdict, "disc " + strconv.Itoa(d.number) + ": " + d.reason
		}
		if d.verdict != conformity.Pass && verdict == conformity.Pass {
			verdict, reason = conformity.Undecided, "disc "+strconv.Itoa(d.number)+": "+d.reason
		}
	}
	if lot != nil && lot.HasRange && !lot.MeanInRange {
		return conformity.Fail, "mean outside the manufacturing range"
	}
	return verdict, reason
}

// sentence says plainly what the discs say of their lot.
func (b *burstWork) sentence(n int, lot *burst.Lot) string {
	switch {
	case n == 0:
		return "No disc has burst, so nothing can be said of the lot."
	case n == 1:
		return "One disc says nothing of the others of its lot: at least two are needed for a mean and a deviation."
	case lot.Small(b.marked, b.tolerance):
		return strconv.Itoa(n) + " discs are too few, or scatter too much, to say with 95 % confidence that 95 % of the lot lie within tolerance: that would have to hold from " +
			figure(lot.TwoSided95[0]) + " to " + figure(lot.TwoSided95[1]) + " " + b.spelling + "."
	}
	return "With 95 % confidence at least 95 % of the lot burst between " + figure(lot.TwoSided95[0]) + " and " + figure(lot.TwoSided95[1]) + " " + b.spelling +
		", within tolerance, if these " + strconv.Itoa(n) + " discs were drawn at random."
}

func (b *burstWork) writeResults(out *document.Writer, discs []discFound, lot *burst.Lot) {
	var list []result
	for i := range discs {
		d := &discs[i]
		r := result{name: "disc " + strconv.Itoa(d.number), value: d.peak, unit: b.spelling, low: b.marked - b.tolerance, high: b.marked + b.tolerance, hasLow: true, hasHigh: true,
			verdict: d.verdict, reason: d.reason, source: b.source}
		if d.identity != "" {
			r.name += ", " + d.identity
		}
		if d.traced {
			r.expanded = 2 * d.step / math.Sqrt(12)
		}
		list = append(list, r)
	}
	if lot != nil {
		mean := result{name: "lot: mean", value: lot.Mean, unit: b.spelling}
		if lot.HasRange {
			mean.low, mean.high, mean.hasLow, mean.hasHigh, mean.verdict, mean.source = lot.RangeLow, lot.RangeHigh, true, true, conformity.Pass, "manufacturing range"
			if !lot.MeanInRange {
				mean.verdict, mean.reason = conformity.Fail, "outside the manufacturing range"
			}
		}
		list = append(list, mean, result{name: "lot: standard deviation", value: lot.SD, unit: b.spelling},
			result{name: "lot: 95 % interval at 95 % confidence, lower end", value: lot.TwoSided95[0], unit: b.spelling},
			result{name: "lot: 95 % interval at 95 % confidence, upper end", value: lot.TwoSided95[1], unit: b.spelling})
	}
	writeResults(out, list)
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
	if d.burst {
		out.Number("deviation", d.peak-b.marked)
		out.Number("deviation_percent", 100*(d.peak-b.marked)/b.marked)
	}
	out.Flag("burst", d.burst)
	out.Flag("saturated", d.saturated)
	if d.traced {
		out.Number("raw_maximum", d.raw)
		out.Whole("peak_index", d.found.PeakIndex)
		out.Number("peak_t_s", d.trace.t[d.found.PeakIndex])
		if d.burst {
			out.Whole("drop_index", d.found.DropIndex)
			out.Number("drop_t_s", d.trace.t[d.found.DropIndex])
		}
		out.Number("sampling_step", d.step)
		out.Number("u_sampling", d.step/math.Sqrt(12))
		out.Number("lag_error", float64(b.rate*b.lag))
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
	n := len(d.trace.t)
	keep := make([]bool, n)
	for _, i := range thinned(n, 280) {
		keep[i] = true
	}
	for i := max(0, d.found.PeakIndex-60); i < min(n, d.found.PeakIndex+60); i++ {
		keep[i] = true
	}
	var t, p []float64
	for i, on := range keep {
		if on {
			t, p = append(t, d.trace.t[i]), append(p, d.trace.p[i])
		}
	}
	writeNumbers(out, "t_s", t)
	writeNumbers(out, "p", p)
}
