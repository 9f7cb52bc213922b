package gauge

import (
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
)

// WritePoints writes the list of points of calculation gauge.
func WritePoints(out *document.Writer, t *Task, r *Result) {
	r.legend()
	out.BeginList("points")
	for i := range r.Points {
		writePoint(out, t, &r.Points[i], r.common)
	}
	out.EndList()
}

// legend collects the lines of all budgets, each as it first occurs.
func (r *Result) legend() []*budgetLine {
	if r.common != nil {
		return r.common
	}
	r.common = make([]*budgetLine, 0, 12)
	for i := range r.Points {
		for k := range r.Points[i].Budget {
			if l := &r.Points[i].Budget[k]; find(r.common, l.Term, k) == nil {
				r.common = append(r.common, l)
			}
		}
	}
	return r.common
}

// find returns the line of a term. It looks first where the term most likely is.
func find(legend []*budgetLine, term string, likely int) *budgetLine {
	if likely < len(legend) && legend[likely].Term == term {
		return legend[likely]
	}
	for _, l := range legend {
		if l.Term == term {
			return l
		}
	}
	return nil
}

// WriteSummary writes what calculation gauge says about the gauge as a whole.
func WriteSummary(out *document.Writer, t *Task, r *Result) {
	out.Text("unit", t.Unit)
	if t.Output != nil {
		out.Text("output_unit", t.Output.Unit)
	}
	if r.HasZero {
		out.Number("zero_deviation", r.ZeroDeviation)
	}
	writeSignalEnds(out, t, r)
	writeCorrections(out, t)
	if r.HasWorst {
		out.BeginObject("worst")
		out.Number("point", r.WorstPoint)
		out.Text("direction", direction(r.WorstUp))
		out.Number("fraction_of_limit", r.WorstFraction)
		out.End()
	}
	out.BeginObject("inaccuracy_percent")
	out.Number("max", r.Highest)
	out.Number("min", r.Lowest)
	out.End()
	out.Number("measured_error_percent", r.MeasuredError)
	out.Number("hysteresis_percent", r.HysteresisMost)
	out.Number("repeatability_percent", r.RepeatableWorst)
	if r.HasLines {
		out.BeginObject("line")
		writeLine(out, "best", &r.Lines.Best)
		writeLine(out, "least_squares", &r.Lines.LeastSquares)
		writeLine(out, "terminal", &r.Lines.Terminal)
		writeLine(out, "zero_based", &r.Lines.ZeroBased)
		out.End()
		writeAdjustment(out, t, r.Lines.Best)
	}
	if r.ClassMet != "" {
		out.Text("class_met", r.ClassMet)
	}
	if legend := r.legend(); len(legend) > 0 {
		out.BeginList("terms")
		for _, l := range legend {
			out.Begin()
			out.Text("term", l.Term)
			out.Text("shape", string(l.Shape))
			out.Number("divisor", l.Divisor)
			out.Text("from", l.From)
			out.End()
		}
		out.EndList()
	}
	out.BeginObject("decision")
	out.Text("rule", string(t.Rule))
	if t.Rule == conformity.Guarded || t.Rule == conformity.GuardedFour {
		out.Number("guard_factor", t.Guard.Float())
	}
	if t.Rule == conformity.Probability {
		out.Number("min_probability", t.Least)
	}
	if t.HasStandard {
		out.Number("risk_at_limit", r.RiskAtLimit)
	}
	out.End()
	out.Text("verdict", r.Verdict)
	if r.Reason != "" {
		out.Text("reason", r.Reason)
	}
}

func writeLine(out *document.Writer, name string, l *Line) {
	out.BeginObject(name)
	out.Number("slope", l.Slope)
	out.Number("intercept", l.Intercept)
	out.Number("max_deviation", l.MaxDeviation)
	out.End()
}

// enTemperature is the change of indication that EN 837-1 allows, in per cent of span per kelvin
// (from memory).
const enTemperature = 0.04

func writeCorrections(out *document.Writer, t *Task) {
	if t.Barometer != nil {
		read, corrected := t.Air()
		out.BeginObject("air")
		out.Number("read", read)
		out.Number("corrected", corrected)
		out.End()
	}
	if t.Site != nil {
		if t.heads[0] == t.heads[1] {
			out.Number("head_correction_pa", t.heads[0])
		} else {
			out.Number("head_correction_low_pa", t.heads[0])
			out.Number("head_correction_high_pa", t.heads[1])
		}
		if t.sites && !t.Site.Absolute {
			out.Number("air_density_kg_m3", t.Site.AirDensity)
		}
	}
	if t.Around.HasTemperature && t.Limit.rule == ruleEN837 {
		d := t.Around.TemperatureC - t.Reference
		out.Number("temperature_allowance_percent", float64(enTemperature*max(d, -d)))
	}
}

// WriteWarnings writes the list of warnings.
func WriteWarnings(out *document.Writer, list []Warning) {
	out.BeginList("warnings")
	for _, w := range list {
		out.Warn(w.Code, w.Field, w.Message)
	}
	out.EndList()
}

// writeAdjustment writes what an adjustment can correct: the shift at the low end, the factor of
// the span, and the error that remains after both.
func writeAdjustment(out *document.Writer, t *Task, best Line) {
	if !(best.Slope > 0) {
		return
	}
	low := t.Low.Float()
	if t.Output != nil {
		low = t.Output.Low.Float()
	}
	out.BeginObject("adjustment")
	out.Number("zero_shift", low-(best.Intercept+float64(best.Slope*low)))
	out.Number("span_factor", 1/best.Slope)
	out.Number("residual", best.MaxDeviation)
	out.End()
}

func direction(up bool) string {
	if up {
		return "up"
	}
	return "down"
}

func writePoint(out *document.Writer, t *Task, p *PointResult, legend []*budgetLine) {
	number := func(has bool, name string, x float64) {
		if has {
			out.Number(name, x)
		}
	}
	out.Begin()
	out.Number("point", p.Point.Float())
	out.Number("applied", p.Applied)
	number(p.Corrected, "typed", p.Typed)
	number(t.Output != nil, "ideal", p.Ideal)
	out.Number("mean", p.Mean)
	number(p.HasUp, "mean_up", p.MeanUp)
	number(p.HasDown, "mean_down", p.MeanDown)
	out.Number("error", p.Error)
	number(p.HasUp, "error_up", p.ErrorUp)
	number(p.HasDown, "error_down", p.ErrorDown)
	if t.Output != nil {
		out.Number("error_percent", float64(p.Error/t.span()*100))
		if x, ok := t.Output.Pressure(p.Mean, t.Low.Float(), t.High.Float()); ok {
			out.Number("error_pressure", x-p.Point.Float())
		}
	}
	number(p.HasHysteresis, "hysteresis", p.Hysteresis)
	number(p.HasRepeatability, "repeatability", p.Repeatability)
	number(p.HasReproducibility, "reproducibility", p.Reproducibility)
	number(p.HasFriction, "friction", p.Friction)
	number(p.Limited, "limit", p.Limit)
	if p.HasU {
		out.Number("u", p.U)
		number(p.DOF > 0, "dof", p.DOF)
		out.Number("k", p.K)
		out.Number("expanded", p.Expanded)
		if p.HasUp && p.HasDown {
			number(p.one.dof > 0, "dof_reading", p.one.dof)
			out.Number("k_reading", p.one.k)
			out.Number("expanded_reading", p.one.expanded)
		}
		out.Number("error_span", p.ErrorSpan)
		number(p.Limited && p.Expanded > 0, "ratio", p.Ratio)
	}
	if p.Verdict != "" {
		out.Text("verdict", p.Verdict)
	} else {
		out.Text("not_judged", "stop pin")
	}
	if p.Verdict != "" && p.HasU {
		out.Number("probability", p.Probability)
		number(p.Guard != 0, "guard", p.Guard)
		out.Number("risk", p.Risk)
	}
	if len(p.Budget) > 0 {
		out.BeginList("budget")
		for i := range p.Budget {
			l := &p.Budget[i]
			out.Begin()
			out.Text("term", l.Term)
			out.Number("value", l.Value)
			number(l.Sensitivity != 1, "sensitivity", l.Sensitivity)
			common := find(legend, l.Term, i)
			if common != l && common.Divisor != l.Divisor {
				out.Text("shape", string(l.Shape))
				out.Number("divisor", l.Divisor)
			}
			if common.From != l.From {
				out.Text("from", l.From)
			}
			out.Number("contribution", l.Contribution)
			out.Number("share", l.Share)
			out.End()
		}
		out.EndList()
	}
	out.End()
}
