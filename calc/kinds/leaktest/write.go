package leaktest

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/leak"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// draw keeps the compensated pressures, as the sensor would have shown them at the first
// temperature and air pressure, and the line through them.
func (l *leakWork) draw(r *leakRun) {
	x := &r.test
	scale, air := 1.0, 0.0
	if x.TemperatureC != nil {
		scale = (x.TemperatureC[0] + units.ZeroCelsius) / x.ReferenceK
	}
	if l.Gauge {
		air = x.Absolute[0] - x.P[0]
	}
	show := func(compensated float64) float64 { return r.unit.FromSI(float64(compensated*scale) - air) }
	r.shown = make([]float64, len(x.T))
	for i := range x.T {
		r.shown[i] = show(x.Compensated(i))
	}
	r.line = [2]float64{show(r.fit.Start), show(r.fit.End)}
}

// look warns of anything that makes a result poor.
func (l *leakWork) look(r *leakRun) {
	f, x := &r.fit, &r.test
	if f.Unsettled {
		l.Warn("unsettled", r.field, r.name+": the pressures do not lie on a straight line: the gas may not have settled, something gives off gas, or the flow follows the pressure")
	} else if f.Factor > 1.5 && f.N >= 15 {
		l.Warn("correlated", r.field, r.name+": the readings hang together, as behind a filter: their scatter counts "+work.Figure(f.Factor)+" times")
	}
	if start := f.Start; start > 0 && math.Abs(start-f.End) > float64(0.1*start) {
		l.Warn(
			"large_change", r.field,
			r.name+": the pressure changed by more than a tenth of its start; the rate is an average",
		)
	}
	if f.N < 5 {
		l.Warn("two_readings", r.field, r.name+": so few readings say little of their scatter; take more")
	}
	if !r.limited {
		return
	}
	step := r.step
	if !r.stated {
		step = leak.Resolution(x.P)
	}
	if allowed := r.limit * r.measure / x.Volume; step > allowed/10 {
		l.Warn("coarse", r.field, r.name+": the sensor's step, "+work.Figure(r.unit.FromInterval(step))+" "+r.spell+", is coarser than a tenth of the change that the limit allows in this time, "+
			work.Figure(r.unit.FromInterval(allowed))+" "+r.spell)
	}
	if math.Abs(f.Rate-f.Uncompensated) > r.limit {
		l.Warn("compensation", r.field, r.name+": temperature or barometer moved the pressure more than the limit does; the result rests on their readings")
	}
}

// bound returns what limits the live decision.
func (r *leakRun) bound() string {
	switch r.decision.Bound {
	case "volume", "settling":
		return r.decision.Bound
	case "readings":
		most := leak.Term(nil, "temperature", 1)[0]
		most.U = 0
		for _, t := range r.fit.Terms[2:] {
			if t.U > most.U {
				most = t
			}
		}
		switch most.Name {
		case "temperature", "barometer", "resolution":
			return most.Name
		case "absolute":
			return "barometer"
		}
		return "standard"
	}
	raw := r.test
	raw.TemperatureC, raw.Absolute, raw.Unseen = nil, raw.P, nil
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
	var list []work.Result
	for _, r := range runs {
		name := r.name
		if r.runs > 1 {
			name += ", run " + string(rune('0'+r.k))
		}
		f := &r.fit
		end := work.Result{Name: name + ": end", Value: r.end, Unit: r.spell}
		list = append(list, work.Result{Name: name + ": start", Value: r.start, Unit: r.spell})
		if r.form == limitEnd && !r.byRule && r.moved.raw != r.moved.Value {
			list = append(list, end)
			end.Name, end.Value = name+": end, at the first temperature and barometer", r.moved.Value
		}
		if r.form == limitEnd {
			end.Source = r.source
			l.giveChange(&end, r)
		}
		list = append(list, end)
		if r.form == limitChange {
			one := work.Result{Name: name + ": change", Value: r.moved.Value, Unit: r.spell, Source: r.source}
			l.giveChange(&one, r)
			if r.runs > 1 {
				one.Verdict, one.Reason = "", ""
			}
			list = append(list, one)
			if r.moved.raw != r.moved.Value {
				list = append(
					list, work.Result{Name: name + ": change as it was read", Value: r.moved.raw, Unit: r.spell},
				)
			}
		}
		slope := work.Result{Name: name + ": rate", Value: f.Rate / r.test.Volume, Unit: "Pa/s"}
		r.giveRate(&slope, r.test.Volume)
		if r.form == limitSlope {
			slope.High, slope.HasHigh, slope.Verdict, slope.Reason, slope.Source = r.leakPhase.limit, true, r.verdict, r.reason, r.source
		}
		list = append(list, slope)
		if l.volume <= 0 {
			list = append(
				list, work.Result{Name: name + ": detection limit", Value: float64(2 * r.critical), Unit: "Pa/s"},
			)
			continue
		}
		rate := work.Result{Name: name + ": leak rate", Value: f.Rate, Unit: "Pa·m³/s"}
		r.giveRate(&rate, 1)
		if r.form == limitRate {
			rate.High, rate.HasHigh, rate.Verdict, rate.Reason, rate.Source = r.leakPhase.limit, true, r.verdict, r.reason, r.source
		}
		list = append(list, rate)
		for _, other := range []struct {
			value, by float64 // by: Pa·m³/s in one of the unit
			unit      string
		}{
			{float64(10 * f.Rate), 0.1, "mbar·L/s"},
			{l.flow(r), 1 / leak.StandardFlow(leak.Moles(1, l.referenceK), l.sccm), "sccm (" + work.Figure(l.sccm) + " °C)"},
			{l.moles(r), 1 / leak.Moles(1, l.referenceK), "mol/s"},
		} {
			one := work.Result{Name: name + ": leak rate", Value: other.value, Unit: other.unit}
			r.giveRate(&one, other.by)
			one.Budget = nil // that of the first unit
			list = append(list, one)
		}
		list = append(
			list, work.Result{Name: name + ": detection limit", Value: float64(2 * r.critical), Unit: "Pa·m³/s"})
	}
	for _, r := range l.agreed(runs) {
		if r.start == 0 && r.end == 0 {
			continue
		}
		mean := work.Result{
			Name: r.name + ": mean change of the last two runs", Value: r.start, Unit: r.spell,
			Source: r.source,
		}
		l.giveChange(&mean, r)
		list = append(list, mean)
		if r.agree > 0 {
			list = append(
				list,
				work.Result{
					Name: r.name + ": difference of the two", Value: r.end, Unit: r.spell, High: r.agree,
					HasHigh: true, Source: r.source,
				},
			)
		}
	}
	work.WriteResults(out, list)
}

// giveRate puts the uncertainty of the rate into a figure, divided by the figure's unit.
func (r *leakRun) giveRate(to *work.Result, by float64) {
	f := &r.fit
	to.U, to.K, to.Expanded = f.U/by, f.K, f.Expanded/by
	if f.DOF < leak.ManyDegrees {
		to.DOF = f.DOF
	}
	for _, t := range f.Terms {
		if t.U > 0 {
			to.Budget = append(to.Budget, work.BudgetPart{Term: t.Name, U: t.U / by})
		}
	}
}

// giveChange puts the limits, uncertainty and verdict of a change into a figure.
func (l *leakWork) giveChange(to *work.Result, r *leakRun) {
	v := work.Weighed{Verdict: r.verdict, Reason: r.reason, K: 2}
	b, err := l.weighChange(r)
	if err == nil {
		v.U, v.K, v.Expanded, v.Terms, v.Contributions = b.U, b.K, b.Expanded, r.moved.Terms, b.Contributions
		if b.DOF < leak.ManyDegrees {
			v.DOF = b.DOF
		}
	}
	v.Give(to, r.changeLimits())
}

func (l *leakWork) moles(r *leakRun) float64 { return leak.Moles(r.fit.Rate, l.referenceK) }

// flow returns the leak rate in standard cubic centimetres per minute.
func (l *leakWork) flow(r *leakRun) float64 {
	return leak.StandardFlow(l.moles(r), l.sccm)
}

// writeRuns writes the kind's own object.
func (l *leakWork) writeRuns(out *document.Writer, runs []*leakRun) {
	out.BeginObject("leak")
	if l.volume > 0 {
		out.Number("volume_m3", l.volume)
		out.Number("u_volume_rel", l.volumeRel)
	}
	out.Number("confidence", l.confidence)
	out.BeginObject("decision")
	if l.Ruled {
		out.Text("rule", string(l.Rule.Rule))
	} else {
		out.Text("rule", "both sides")
	}
	out.Flag("stated", l.Ruled)
	out.End()
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
	out.Number("expanded", f.Expanded)
	out.Number("u", f.U)
	out.Number("k", f.K)
	if f.DOF < leak.ManyDegrees {
		out.Number("dof", f.DOF)
	}
	out.Number("correlation_factor", f.Factor)
	leak.WriteTerms(out, f.Terms)
	if r.form == limitEnd || r.form == limitChange {
		out.Number("change", r.moved.Value)
		out.Number("change_as_read", r.moved.raw)
	}
	out.Number("critical", r.critical)
	out.Number("detection_limit", float64(2*r.critical))
	out.Flag("below_detection_limit", math.Abs(f.Rate) < float64(2*r.critical))
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
	if r.limited {
		out.Text("decided_by", r.decision.By)
	}
	out.Number("durbin_watson", f.DurbinWatson)
	out.BeginObject("line")
	work.WriteNumbers(out, "t_s", []float64{x.T[0], x.T[f.N-1]})
	work.WriteNumbers(out, "p", r.line[:])
	out.End()
	at := work.Thinned(len(x.T), 200)
	t, p := make([]float64, len(at)), make([]float64, len(at))
	for i, j := range at {
		t[i], p[i] = x.T[j], r.shown[j]
	}
	work.WriteNumbers(out, "t_s", t)
	work.WriteNumbers(out, "p", p)
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
