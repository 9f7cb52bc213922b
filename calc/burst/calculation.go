package burst

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// Calculations returns the calculations burst, lot and tolerance_factor.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "burst", Call: calculateBurst},
		{Name: "lot", Call: calculateLot},
		{Name: "tolerance_factor", Call: calculateFactor},
	}
}

// pascals returns how many pascals the document's unit has.
func pascals(in *document.Reader) float64 { return units.Of(in, "unit", units.Pressure).Factor }

// tolerance returns the tolerance that the document gives, or ASME's.
func tolerance(in *document.Reader, marked, factor float64) float64 {
	percent, hasPercent := in.Optional("tolerance_percent")
	absolute, hasAbsolute := in.Optional("tolerance")
	switch {
	case hasPercent && hasAbsolute:
		in.Fail(document.CodeConflict, "tolerance", "give the tolerance in the unit or in per cent, not both")
	case hasPercent && percent > 0:
		return marked * percent / 100
	case hasAbsolute && absolute > 0:
		return absolute
	case hasPercent || hasAbsolute:
		in.Fail(document.CodeRange, "tolerance", "must be above zero")
	}
	return Tolerance(marked, factor)
}

func calculateBurst(in *document.Reader, out *document.Writer) error {
	factor := pascals(in)
	marked := in.Positive("marked")
	allowed := tolerance(in, marked, factor)
	fullScale, hasFullScale := in.Optional("sensor_full_scale")
	rate, hasRate := in.Optional("ramp_rate_per_s")
	interval, hasInterval := in.Optional("interval_s")
	lag := in.NumberOr("sensor_lag_s", 0)
	d := Detector{
		Drop: in.NumberOr("drop_fraction", 0.2), Window: in.NumberOr("window_s", 0.5),
		Hold: in.WholeOr("hold_samples", 1, 1000, 3),
	}
	least := float64(0.02 * marked)
	if hasRate && hasInterval {
		least = max(least, float64(3*rate*interval))
	}
	d.Spike = in.NumberOr("spike_threshold", least)
	d.Arm = in.NumberOr("arm", float64(0.3*marked))
	tr := in.Object("trace")
	t, p := tr.Numbers("t_s"), tr.Numbers("p")
	if in.Err() == nil && !(d.Drop > 0 && d.Drop < 1) {
		in.Fail(document.CodeRange, "drop_fraction", "must be between 0 and 1")
	}
	if in.Err() == nil && (d.Window <= 0 || d.Spike <= 0 || lag < 0 || rate < 0 || (hasInterval && interval <= 0)) {
		in.Fail(
			document.CodeRange, "window_s",
			"window, spike threshold and interval must be above zero, rate and lag not below",
		)
	}
	if err := in.Err(); err != nil {
		return err
	}
	f, err := Detect(t, p, d)
	if err != nil {
		return err
	}
	if !hasInterval {
		interval = (t[len(t)-1] - t[0]) / float64(len(t)-1)
	}
	saturated := hasFullScale && f.Peak >= fullScale
	out.Flag("burst", f.Burst)
	out.Number("peak", f.Peak)
	out.Whole("peak_index", f.PeakIndex)
	out.Number("peak_t_s", t[f.PeakIndex])
	if f.Burst {
		out.Whole("drop_index", f.DropIndex)
	}
	out.Number("raw_maximum", f.RawMaximum)
	out.Flag("saturated", saturated)
	out.Number("tolerance", allowed)
	if hasRate {
		step := float64(rate * interval)
		out.Number("sampling_step", step)
		out.Number("u_sampling", step/math.Sqrt(12))
		out.Number("lag_error", float64(rate*lag))
	}
	if f.Burst {
		if noise, ok := NoiseOf(t, p, f, d.Spike); ok {
			out.Number("u_noise", noise.U)
		}
	}
	switch {
	case !f.Burst:
		out.Text("verdict", "undecided")
		out.Text("reason", "no burst")
	case saturated:
		out.Number("deviation", f.Peak-marked)
		out.Number("deviation_percent", 100*(f.Peak-marked)/marked)
		out.Text("verdict", "undecided")
		out.Text("reason", "at least: sensor at full scale")
	default:
		out.Number("deviation", f.Peak-marked)
		out.Number("deviation_percent", 100*(f.Peak-marked)/marked)
		if Beyond(f.Peak-marked, allowed, marked) {
			out.Text("verdict", "fail")
			out.Text("reason", "outside tolerance")
		} else {
			out.Text("verdict", "pass")
		}
	}
	out.BeginList("warnings")
	if hasRate && d.Spike < 3*rate*interval {
		out.Warn("spike_threshold", "spike_threshold", "is below three sampling steps of the ramp: a hard pump stroke just before the burst could be taken for a spike; compare the raw maximum")
	}
	if f.RawMaximum > f.Peak {
		out.Warn("spike", "trace.p", "a single sample stood above the reported value and was taken for a disturbance; the raw maximum is given beside it")
	}
	out.EndList()
	return nil
}

func calculateLot(in *document.Reader, out *document.Writer) error {
	factor := pascals(in)
	marked := in.Positive("marked")
	allowed := tolerance(in, marked, factor)
	requested, hasRequested := in.Optional("requested")
	r, hasRange := in.OptionalObject("range_percent")
	var low, high float64
	if hasRange {
		low, high = r.Number("low"), r.Number("high")
		if in.Err() == nil && low > high {
			r.Fail(document.CodeRange, "low", "must not lie above high")
		}
		if in.Err() == nil && !hasRequested {
			in.Fail(
				document.CodeMissing, "requested",
				"a manufacturing range lies about the requested pressure, which is missing",
			)
		}
	}
	values := in.Numbers("values")
	if in.Err() == nil && len(values) < 2 {
		in.Fail(document.CodeShape, "values", "one disc says nothing of a lot; at least two are needed")
	}
	if in.Err() == nil && len(values) > 1000 {
		in.Fail(document.CodeShape, "values", "at most 1000 discs")
	}
	if err := in.Err(); err != nil {
		return err
	}
	l := Statement(values, marked, allowed)
	if hasRange {
		l.Within(requested, low, high)
	}
	l.Write(out, allowed)
	verdict, reason := "pass", ""
	if l.HasRange && !l.MeanInRange {
		verdict, reason = "fail", "mean outside the manufacturing range"
	}
	if len(l.Outside) > 0 {
		verdict, reason = "fail", "disc outside tolerance"
	}
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	out.BeginList("warnings")
	if l.Small(marked, allowed) {
		out.Warn("small_sample", "values", "the sample is too small, or its scatter too large, to say with 95 % confidence that 95 % of the lot lies within tolerance")
	}
	out.EndList()
	return nil
}

func pair(out *document.Writer, name string, low, high float64) {
	out.BeginObject(name)
	out.Number("low", low)
	out.Number("high", high)
	out.End()
}

func calculateFactor(in *document.Reader, out *document.Writer) error {
	n := in.Whole("n", 2, 1000)
	confidence, coverage := in.Number("confidence"), in.Number("coverage")
	sided := in.Whole("sided", 1, 2)
	if in.Err() == nil && !(confidence >= 0.5 && confidence <= 0.999) {
		in.Fail(document.CodeRange, "confidence", "must be from 0.5 to 0.999")
	}
	if in.Err() == nil && !(coverage >= 0.5 && coverage <= 0.9999) {
		in.Fail(document.CodeRange, "coverage", "must be from 0.5 to 0.9999")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if sided == 1 {
		out.Number("k", OneSided(n, confidence, coverage))
		return nil
	}
	out.Number("k", TwoSided(n, confidence, coverage))
	out.Number("howe", Howe(n, confidence, coverage))
	return nil
}
