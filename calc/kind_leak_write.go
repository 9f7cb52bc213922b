package calc

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/leak"
)

// draw keeps the compensated pressures as the sensor would have shown them at the first temperature and barometer, and the line through them.
func (l *leakWork) draw(r *leakRun) {
	x := &r.test
	scale, air := 1.0, 0.0
	if x.TemperatureC != nil {
		scale = (x.TemperatureC[0] + 273.15) / x.ReferenceK
	}
	if l.gauge {
		air = x.Absolute[0] - x.P[0]
	}
	show := func(compensated float64) float64 { return r.unit.FromSI(float64(compensated*scale) - air) }
	r.shown = make([]float64, len(x.T))
	for i := range x.T {
		c := x.Absolute[i]
		if x.TemperatureC != nil {
			c = x.Absolute[i] * x.ReferenceK / (x.TemperatureC[i] + 273.15)
		}
		r.shown[i] = show(c)
	}
	r.line = [2]float64{show(r.fit.Start), show(r.fit.End)}
}

// look warns of what makes a result poor.
func (l *leakWork) look(r *leakRun) {
	f, x := &r.fit, &r.test
	if f.N > 3 && (f.DurbinWatson < 1.5 && f.N >= 15 || f.Curved) {
		l.warn("unsettled", r.field, r.name+": the pressures do not lie on a straight line: the gas may not have settled, something gives off gas, or the flow follows the pressure")
	}
	if start := f.Start; start > 0 && math.Abs(start-f.End) > float64(0.1*start) {
		l.warn("large_change", r.field, r.name+": the pressure changed by more than a tenth of its start; the rate is an average")
	}
	if f.N < 5 {
		l.warn("two_readings", r.field, r.name+": so few readings say little of their scatter; take more")
	}
	if !r.limited {
		return
	}
	step := r.step
	if !r.stated {
		step = leak.Resolution(x.P)
	}
	if allowed := r.limit * r.measure / x.Volume; step > allowed/10 {
		l.warn("coarse", r.field, r.name+": the sensor's step, "+figure(r.unit.FromInterval(step))+" "+r.spell+", is coarser than a tenth of the change that the limit allows in this time, "+
			figure(r.unit.FromInterval(allowed))+" "+r.spell)
	}
	if math.Abs(f.Rate-f.Uncompensated) > r.limit {
		l.warn("compensation", r.field, r.name+": temperature or barometer moved the pressure more than the limit does; the result rests on their readings")
	}
}

// bound says what limits the live decision.
func (r *leakRun) bound() string {
	switch r.decision.Bound {
	case "volume":
		return "volume"
	case "readings":
		switch m := max(r.uT, r.uB, r.uStep); {
		case m == r.uStep:
			return "resolution"
		case m == r.uT:
			return "temperature"
		}
		return "barometer"
	}
	raw := r.test
	raw.TemperatureC, raw.Absolute = nil, raw.P
	if f, err := leak.Evaluate(raw); err == nil && r.test.TemperatureC != nil && r.fit.Sigma > float64(1.5*f.Sigma) {
		return "temperature"
	}
	step := r.step
	if step == 0 {
		step = leak.Resolution(r.test.P)
	}
	if r.fit.Sigma < float64(0.6*step) {
		return "resolution"
	}
	return "noise"
}

// writeResults writes the figures of every run.
func (l *leakWork) writeResults(out *document.Writer, runs []*leakRun) {
	var list []result
	for _, r := range runs {
		name := r.name
		if r.runs > 1 {
			name += ", run " + string(rune('0'+r.k))
		}
		f := &r.fit
		end := result{name: name + ": end", value: r.end, unit: r.spell}
		if r.form == limitEnd {
			end.verdict, end.reason, end.source = r.verdict, r.reason, r.source
			if r.rise {
				end.high, end.hasHigh = r.leakPhase.limit, true
			} else {
				end.low, end.hasLow = r.leakPhase.limit, true
			}
		}
		list = append(list, result{name: name + ": start", value: r.start, unit: r.spell}, end)
		if r.form == limitChange {
			one := result{name: name + ": change", value: r.change(), unit: r.spell, high: r.leakPhase.limit, hasHigh: true, source: r.source}
			if r.runs == 1 {
				one.verdict, one.reason = r.verdict, r.reason
			}
			list = append(list, one)
		}
		slope := result{name: name + ": rate", value: f.Rate / r.test.Volume, unit: "Pa/s", expanded: float64(2*r.u) / r.test.Volume}
		if r.form == limitSlope {
			slope.high, slope.hasHigh, slope.verdict, slope.reason, slope.source = r.leakPhase.limit, true, r.verdict, r.reason, r.source
		}
		list = append(list, slope)
		if l.volume <= 0 {
			list = append(list, result{name: name + ": detection limit", value: float64(2 * r.critical), unit: "Pa/s"})
			continue
		}
		rate := result{name: name + ": leak rate", value: f.Rate, unit: "Pa·m³/s", expanded: float64(2 * r.u)}
		if r.form == limitRate {
			rate.high, rate.hasHigh, rate.verdict, rate.reason, rate.source = r.leakPhase.limit, true, r.verdict, r.reason, r.source
		}
		list = append(list, rate, result{name: name + ": leak rate", value: float64(10 * f.Rate), unit: "mbar·L/s"},
			result{name: name + ": leak rate", value: l.flow(r), unit: "sccm (" + figure(l.sccm) + " °C)"}, result{name: name + ": leak rate", value: l.moles(r), unit: "mol/s"},
			result{name: name + ": detection limit", value: float64(2 * r.critical), unit: "Pa·m³/s"})
	}
	for _, r := range l.agreed(runs) {
		if r.start == 0 && r.end == 0 {
			continue
		}
		list = append(list, result{name: r.name + ": mean change of the last two runs", value: r.start, unit: r.spell, high: r.leakPhase.limit, hasHigh: true, verdict: r.verdict, reason: r.reason, source: r.source})
		if r.agree > 0 {
			list = append(list, result{name: r.name + ": difference of the two", value: r.end, unit: r.spell, high: r.agree, hasHigh: true, source: r.source})
		}
	}
	writeResults(out, list)
}

func (l *leakWork) moles(r *leakRun) float64 { return r.fit.Rate / (leak.R * l.referenceK) }

// flow is the leak rate in standard cubic centimetres a minute.
func (l *leakWork) flow(r *leakRun) float64 {
	return float64(l.moles(r) * leak.R * (l.sccm + 273.15) / 101325 * 6e7)
}

// writeRuns writes the object of the kind.
func (l *leakWork) writeRuns(out *document.Writer, runs []*leakRun) {
	out.BeginObject("leak")
	if l.volume > 0 {
		out.Number("volume_m3", l.volume)
		out.Number("u_volume_rel", l.volumeRel)
	}
	out.Number("confidence", l.confidence)
	out.BeginList("phases")
	for _, r := range runs {
		l.writeRun(out, r)
	}
	out.EndList()
	out.End()
}

func (l *leakWork) writeRun(out *document.Writer, r *leakRun) {
	f, x := &r.fit, &r.test
	out.Begin()
	out.Text("phase", r.leakPhase.id)
	out.Text("name", r.name)
	out.Text("step", r.id)
	out.Whole("run", r.k)
	mode := "decay"
	if r.rise {
		mode = "rise"
	}
	out.Text("mode", mode)
	out.Whole("n", f.N)
	out.Number("start", r.start)
	out.Number("end", r.end)
	out.Text("unit", r.spell)
	out.Number("rate_pa_s", f.Rate/x.Volume)
	unit := "Pa/s"
	if l.volume > 0 {
		unit = "Pa·m³/s"
		out.Number("rate_pa_m3_s", f.Rate)
		out.Number("mbar_l_s", float64(10*f.Rate))
		out.Number("sccm", l.flow(r))
		out.Number("mol_s", l.moles(r))
	}
	out.Number("rate_se", f.RateSE)
	out.Number("rate_low", f.Low)
	out.Number("rate_high", f.High)
	out.Number("uncompensated", f.Uncompensated)
	out.Number("two_point", f.TwoPoint)
	out.Number("expanded", float64(2*r.u))
	out.Number("critical", r.critical)
	out.Number("detection_limit", float64(2*r.critical))
	out.Text("unit_of_limit", unit)
	if r.limited {
		out.Number("limit", r.limit)
	}
	if r.verdict != "" {
		out.Text("verdict", r.verdict)
	}
	if r.reason != "" {
		out.Text("reason", r.reason)
	}
	out.Number("durbin_watson", f.DurbinWatson)
	out.BeginObject("line")
	writeNumbers(out, "t_s", []float64{x.T[0], x.T[len(x.T)-1]})
	writeNumbers(out, "p", r.line[:])
	out.End()
	at := thinned(len(x.T), 200)
	t, p := make([]float64, len(at)), make([]float64, len(at))
	for i, j := range at {
		t[i], p[i] = x.T[j], r.shown[j]
	}
	writeNumbers(out, "t_s", t)
	writeNumbers(out, "p", p)
	if r.limited {
		d := &r.decision
		out.BeginObject("live")
		out.Flag("certain_now", d.Certain)
		verdict := d.Verdict
		if !d.Certain {
			verdict = conformity.Undecided
		}
		out.Text("verdict", verdict)
		if d.Known {
			out.Number("needed_s", d.NeededS)
		}
		if !d.Certain {
			out.Text("limited_by", r.bound())
		}
		out.End()
	}
	out.End()
}
