package leak

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
)

// Calculations returns the calculations leak, dwell and settle.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "leak", Call: calculateLeak},
		{Name: "dwell", Call: calculateDwell},
		{Name: "settle", Call: calculateSettle},
	}
}

func column(in *document.Reader, name string, n int) []float64 {
	if !in.Has(name) {
		in.Raw(name)
		return nil
	}
	c := in.Numbers(name)
	if in.Err() == nil && len(c) != n {
		in.Fail(document.CodeShape, name, "has "+strconv.Itoa(len(c))+" values, the time has "+strconv.Itoa(n))
	}
	return c
}

// read reads the test, without the samples of the skipped time. barometer tells whether the air
// pressure was recorded.
func read(in *document.Reader) (x Test, barometer bool) {
	x.Rise = in.Choice("mode", "decay", "rise") == "rise"
	x.Volume = in.Positive("volume_m3")
	x.VolumeRel = in.NumberOr("u_volume_rel", 0)
	if in.Err() == nil && !(x.VolumeRel >= 0 && x.VolumeRel < 1) {
		in.Fail(document.CodeRange, "u_volume_rel", "must be from 0 to below 1")
	}
	x.ReferenceK = in.Positive("reference_temperature_k")
	c, covered := in.Optional("coverage")
	if in.Err() == nil && covered && !(c >= 0.5 && c <= 0.999) {
		in.Fail(document.CodeRange, "coverage", "must be from 0.5 to 0.999")
	}
	x.Coverage = c
	x.Planned, x.Every = in.NumberOr("planned_s", 0), in.NumberOr("every_s", 0)
	if in.Err() == nil && !(x.Planned >= 0 && x.Every >= 0) {
		in.Fail(document.CodeRange, "planned_s", "must not be below zero, nor the interval between readings")
	}
	tau, known := in.Optional("sensor_time_s")
	if in.Err() == nil && tau < 0 {
		in.Fail(document.CodeRange, "sensor_time_s", "must not be below zero")
	}
	gauge := in.Choice("pressure_kind", "absolute", "gauge") == "gauge"
	skip := in.NumberOr("skip_s", 0)
	constant, hasConstant := in.Optional("barometer_pa")
	tr := in.Object("trace")
	t := tr.Numbers("t_s")
	n := len(t)
	p := tr.Numbers("p_pa")
	if in.Err() == nil && len(p) != n {
		tr.Fail(document.CodeShape, "p_pa", "has "+strconv.Itoa(len(p))+" values, the time has "+strconv.Itoa(n))
	}
	temperature := column(tr, "temperature_c", n)
	air := column(tr, "barometer_pa", n)
	if in.Err() != nil {
		return x, false
	}
	if gauge && air == nil && !hasConstant {
		tr.Fail(
			document.CodeMissing, "barometer_pa", "a gauge sensor needs the barometer: its change looks like a leak",
		)
		return x, false
	}
	for i := range t {
		if i > 0 && !(t[i] > t[i-1]) {
			in.Fail(document.CodeRange, "trace.t_s["+strconv.Itoa(i)+"]", "the time does not rise")
			return x, false
		}
		if temperature != nil && !(temperature[i] > -units.ZeroCelsius) {
			in.Fail(document.CodeRange, "trace.temperature_c["+strconv.Itoa(i)+"]", "lies below absolute zero")
			return x, false
		}
		absolute := p[i]
		switch {
		case gauge && air != nil:
			absolute += air[i]
		case gauge:
			absolute += constant
		}
		if absolute < 0 {
			in.Fail(
				document.CodeRange, "trace.p_pa["+strconv.Itoa(i)+"]",
				"is below zero absolute: is the pressure gauge or absolute?",
			)
			return x, false
		}
		if t[i] < skip {
			continue
		}
		x.T, x.P, x.Absolute = append(x.T, t[i]), append(x.P, p[i]), append(x.Absolute, absolute)
		if temperature != nil {
			x.TemperatureC = append(x.TemperatureC, temperature[i])
		}
	}
	if n := len(x.T); known && n > 1 {
		x.Independent = Apart(tau, (x.T[n-1]-x.T[0])/float64(n-1))
	}
	return x, !gauge || air != nil
}

// Apart reports whether readings lie so far apart in time that the sensor no longer shows the one
// before: three of its time constants, e⁻³ = 5 %.
func Apart(timeConstant, spacing float64) bool { return spacing >= float64(3*timeConstant) }

// unseen reads what the readings do not show: the resolution of the sensor, and drifts that were
// not measured.
func (x *Test) unseen(in *document.Reader, barometer bool) (step float64) {
	step = in.NumberOr("resolution_pa", 0)
	if in.Err() == nil && step < 0 {
		in.Fail(document.CodeRange, "resolution_pa", "must not be below zero")
	}
	driftK, driftPaH := in.NumberOr("drift_k", UsualDriftK), in.NumberOr("drift_pa_h", UsualDriftPaH)
	if in.Err() == nil && (driftK < 0 || driftPaH < 0) {
		in.Fail(document.CodeRange, "drift_k", "the drifts must not be below zero")
	}
	if x.TemperatureC != nil {
		driftK = 0
	}
	if barometer {
		driftPaH = 0
	}
	x.Unseen = func(x *Test, f *Fit) []uncertainty.Term {
		list := Drift(x.Absolute[f.N-1], x.ReferenceK, f.Elapsed, x.Volume, driftK, driftPaH)
		return Term(list, "resolution", Step(step, x, f))
	}
	return step
}

func calculateLeak(in *document.Reader, out *document.Writer) error {
	x, barometer := read(in)
	step := x.unseen(in, barometer)
	limit, hasLimit := in.Optional("limit_pa_m3_s")
	slope, hasSlope := in.Optional("limit_pa_s")
	if in.Err() == nil && hasLimit && hasSlope {
		in.Fail(document.CodeConflict, "limit_pa_s", "give one limit, as a rate of pressure or as a leak rate")
	}
	if hasSlope {
		limit, hasLimit = float64(slope*x.Volume), true
	}
	if in.Err() == nil && hasLimit && !(limit > 0) {
		in.Fail(document.CodeRange, "limit_pa_m3_s", "must be above zero")
	}
	if err := in.Err(); err != nil {
		return err
	}
	f, d, err := Judge(x, limit)
	if err != nil {
		return err
	}
	unmoved := f.Sigma == 0 && step == 0
	if unmoved && d.Verdict != "undecided" {
		d = Decision{Verdict: "undecided", By: d.By, Bound: "resolution"}
	}
	out.Whole("n", f.N)
	for _, v := range []struct {
		name string
		x    float64
	}{
		{"slope_pa_s", f.Slope}, {"slope_se_pa_s", f.SlopeSE}, {"start_pa", f.Start}, {"end_pa", f.End},
		{"rate_pa_m3_s", f.Rate}, {"rate_se", f.RateSE}, {"rate_low", f.Low}, {"rate_high", f.High},
		{"u", f.U}, {"k", f.K}, {"expanded", f.Expanded}, {"correlation_factor", f.Factor}, {"critical_level", f.CriticalLevel},
		{"rate_two_point", f.TwoPoint}, {"rate_uncompensated", f.Uncompensated}, {"durbin_watson", f.DurbinWatson},
	} {
		out.Number(v.name, v.x)
	}
	if f.DOF < ManyDegrees {
		out.Number("dof", f.DOF)
	}
	WriteTerms(out, f.Terms)
	out.Flag("detected", f.Rate > f.CriticalLevel)
	mol := Moles(f.Rate, x.ReferenceK)
	out.Number("mol_s", mol)
	out.Number("mbar_l_s", float64(10*f.Rate))
	for _, s := range []struct {
		name string
		c    float64
	}{{"sccm_0c", 0}, {"sccm_20c", 20}, {"sccm_25c", 25}} {
		out.Number(s.name, StandardFlow(mol, s.c))
	}
	if hasLimit {
		out.Text("verdict", d.Verdict)
		if unmoved {
			out.Text("reason", NoScatter)
		}
		out.Text("decided_by", d.By)
		out.Flag("certain_now", d.Certain)
		if d.Known {
			out.Number("needed_s", d.NeededS)
		}
		if !d.Certain {
			out.Text("bound_by", d.Bound)
		}
	}
	out.BeginList("warnings")
	warn(out, f, x, limit, hasLimit, barometer, step)
	out.EndList()
	return nil
}

// NoScatter is the reason if a verdict would rest on scatter that the sensor's resolution hides.
const NoScatter = "the readings do not scatter at all: state the sensor's resolution"

// WriteTerms writes the terms of an uncertainty, in Pa·m³/s.
func WriteTerms(out *document.Writer, terms []uncertainty.Term) {
	out.BeginList("budget")
	for i := range terms {
		if terms[i].U > 0 {
			out.Begin()
			out.Text("term", terms[i].Name)
			out.Number("u", terms[i].U)
			out.End()
		}
	}
	out.EndList()
}

func warn(out *document.Writer, f Fit, x Test, limit float64, hasLimit, barometer bool, step float64) {
	if x.TemperatureC == nil {
		out.Warn(
			"no_temperature", "trace.temperature_c",
			"the temperature was not recorded; a change of it looks like a leak",
		)
	}
	if !barometer {
		out.Warn("barometer_once", "barometer_pa", "the barometer was read once; a change of it looks like a leak")
	}
	if f.Unsettled {
		out.Warn("unsettled", "trace", "the pressures do not lie on a straight line: the gas may not have settled, or the flow follows the pressure")
	}
	if math.Abs(f.Start-f.End) > float64(0.1*f.Start) {
		out.Warn(
			"large_change", "trace", "the pressure changed by more than a tenth of its start; the rate is an average",
		)
	}
	if !hasLimit {
		return
	}
	if step == 0 {
		step = Resolution(x.P)
	}
	if step > limit*f.Elapsed/x.Volume/10 {
		out.Warn(
			"coarse", "trace.p_pa",
			"the sensor's step is coarser than a tenth of the change that the limit allows in this time",
		)
	}
	if math.Abs(f.Rate-f.Uncompensated) > limit {
		out.Warn(
			"compensation", "trace",
			"temperature or barometer moved the pressure more than the limit does; the result rests on their readings",
		)
	}
}

// Resolution returns the smallest step between differing readings; 0 if all are equal.
func Resolution(p []float64) float64 {
	step := 0.0
	for i := 1; i < len(p); i++ {
		if d := math.Abs(p[i] - p[i-1]); d > 0 && (step == 0 || d < step) {
			step = d
		}
	}
	return step
}

func calculateDwell(in *document.Reader, out *document.Writer) error {
	v, s, q, dt := in.Positive("volume_m3"), in.Positive("sigma_pa"), in.Positive("leak_pa_m3_s"), in.Positive("interval_s")
	k := in.NumberOr("factor", 3.29)
	if in.Err() == nil && !(k > 0) {
		in.Fail(document.CodeRange, "factor", "must be above zero")
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.Number("dwell_s", Dwell(v, s, q, dt, k))
	return nil
}

func calculateSettle(in *document.Reader, out *document.Writer) error {
	v, p, step := in.Positive("volume_m3"), in.Positive("pressure_pa"), in.Number("step_k")
	t, tau, q, f := in.Positive("temperature_k"), in.Positive("tau_s"), in.Positive("limit_pa_m3_s"), in.Positive("fraction")
	if err := in.Err(); err != nil {
		return err
	}
	out.Number("wait_s", Settle(v, p, step, t, tau, q, f))
	return nil
}
