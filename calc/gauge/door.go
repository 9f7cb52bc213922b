package gauge

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
)

// Doors returns the room gauge.
func Doors() []document.Door {
	return []document.Door{{Name: "gauge", Call: door}}
}

func door(in *document.Reader, out *document.Writer) error {
	var t Task
	unit := units.Of(in, "unit", units.Pressure)
	t.Unit = in.Text("unit")
	ReadRange(in, &t, unit.Factor)
	t.Limit = ReadLimit(in.Object("limit"), t.Low, t.High)
	if s, ok := in.OptionalObject("standard"); ok {
		one := standard.Read(s)
		t.Standard, t.HasStandard = &one, true
	}
	pointerSet := in.ChoiceOr("method", "applied-set", "pointer-set") == "pointer-set"
	output := readOutput(in)
	readSurroundings(in, &t)
	ReadDecision(in.Object("decision"), &t)
	if c, ok := in.Optional("coverage"); ok {
		if in.Err() == nil && !(c > 0.5 && c < 0.9999) {
			in.Fail(document.CodeRange, "coverage", "must be between 0.5 and 0.9999")
		} else {
			t.K, _ = numeric.ExactOf(numeric.NormalQuantile(float64((1 + c) / 2)))
		}
	}
	if in.Err() == nil && output != nil && pointerSet {
		in.Fail(document.CodeConflict, "method", "a transmitter has no pointer to set")
	}
	readReadings(in, &t, output, pointerSet)
	if err := in.Err(); err != nil {
		return err
	}
	r, err := Evaluate(&t)
	if err != nil {
		return err
	}
	WritePoints(out, &r)
	WriteSummary(out, &t, &r)
	WriteWarnings(out, r.Warnings)
	return nil
}

func readOutput(in *document.Reader) *Output {
	o, ok := in.OptionalObject("output")
	if !ok {
		return nil
	}
	out := &Output{Low: readExact(o, "low"), High: readExact(o, "high")}
	o.Choice("unit", "mA", "V")
	out.SquareRoot = o.ChoiceOr("law", "linear", "square-root") == "square-root"
	if in.Err() == nil && out.Low.Cmp(out.High) >= 0 {
		o.Fail(document.CodeRange, "high", "must lie above low")
	}
	return out
}

// readSurroundings takes the surroundings. The effect of temperature enters as a half-width, not as a correction: its sign is not known.
func readSurroundings(in *document.Reader, t *Task) {
	s, ok := in.OptionalObject("surroundings")
	if !ok {
		return
	}
	temperature, has := s.Optional("temperature_c")
	reference := s.NumberOr("reference_temperature_c", 20)
	coefficient := s.NumberOr("temperature_coefficient_percent_per_k", 0)
	s.Optional("pressure_pa")
	s.Optional("humidity")
	if in.Err() != nil {
		return
	}
	if coefficient < 0 {
		s.Fail(document.CodeRange, "temperature_coefficient_percent_per_k", "must not be below zero")
		return
	}
	if has {
		t.Temperature = float64(float64(coefficient/100*math.Abs(temperature-reference)) * t.High.Sub(t.Low).Float())
	}
}

// WritePoints writes the list of points of room gauge.
func WritePoints(out *document.Writer, r *Result) {
	out.BeginList("points")
	for i := range r.Points {
		writePoint(out, &r.Points[i])
	}
	out.EndList()
}

// WriteSummary writes what room gauge says of the gauge as a whole.
func WriteSummary(out *document.Writer, t *Task, r *Result) {
	out.Text("unit", t.Unit)
	if r.HasZero {
		out.Number("zero_deviation", r.ZeroDeviation)
	}
	if t.HasHead {
		out.Number("head_correction_pa", t.HeadPa)
	}
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
		for _, l := range []struct {
			name string
			line Line
		}{{"best", r.Lines.Best}, {"least_squares", r.Lines.LeastSquares}, {"terminal", r.Lines.Terminal}, {"zero_based", r.Lines.ZeroBased}} {
			out.BeginObject(l.name)
			out.Number("slope", l.line.Slope)
			out.Number("intercept", l.line.Intercept)
			out.Number("max_deviation", l.line.MaxDeviation)
			out.End()
		}
		out.End()
		writeAdjustment(out, t, r.Lines.Best)
	}
	if r.ClassMet != "" {
		out.Text("class_met", r.ClassMet)
	}
	out.Text("verdict", r.Verdict)
	if r.Reason != "" {
		out.Text("reason", r.Reason)
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

// writeAdjustment separates what an adjustment can do: the shift at the low end, the factor of the span, and what is left of both.
func writeAdjustment(out *document.Writer, t *Task, best Line) {
	if !(best.Slope > 0) {
		return
	}
	low := t.Low.Float()
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

func writePoint(out *document.Writer, p *PointResult) {
	out.Begin()
	out.Number("point", p.Point.Float())
	out.Number("applied", p.Applied)
	out.Number("mean", p.Mean)
	for _, f := range []struct {
		has  bool
		name string
		x    float64
	}{
		{p.HasUp, "mean_up", p.MeanUp}, {p.HasDown, "mean_down", p.MeanDown},
		{true, "error", p.Error}, {p.HasUp, "error_up", p.ErrorUp}, {p.HasDown, "error_down", p.ErrorDown},
		{p.HasHysteresis, "hysteresis", p.Hysteresis}, {p.HasRepeatability, "repeatability", p.Repeatability},
		{p.HasReproducibility, "reproducibility", p.Reproducibility}, {p.HasFriction, "friction", p.Friction},
		{p.Limited, "limit", p.Limit}, {p.HasU, "u", p.U}, {p.HasU, "k", p.K}, {p.HasU, "expanded", p.Expanded}, {p.HasU, "error_span", p.ErrorSpan},
		{p.HasU && p.Limited && p.Expanded > 0, "ratio", p.Ratio},
	} {
		if f.has {
			out.Number(f.name, f.x)
		}
	}
	if p.Verdict != "" {
		out.Text("verdict", p.Verdict)
	}
	if p.Verdict != "" && p.HasU {
		out.Number("probability", p.Probability)
	}
	out.End()
}
