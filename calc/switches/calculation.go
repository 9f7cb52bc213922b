package switches

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Calculations returns the calculation switch.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "switch", Call: calculate}}
}

func readTrace(in *document.Reader) Trace {
	tr := Trace{T: in.Numbers("t_s"), P: in.Numbers("p")}
	contact := in.Text("contact")
	tr.Contact = make([]bool, len(contact))
	for i := range len(contact) {
		switch contact[i] {
		case '1':
			tr.Contact[i] = true
		case '0':
		default:
			in.Fail(document.CodeShape, "contact", "one 0 or 1 for each sample is needed")
			return Trace{}
		}
	}
	return tr
}

func calculate(in *document.Reader, out *document.Writer) error {
	unit := in.Text("unit")
	rising := in.Choice("acts", "rising", "falling") == "rising"
	nominal := in.Number("nominal")
	tolerance := in.Number("tolerance")
	if in.Err() == nil && tolerance < 0 {
		in.Fail(document.CodeRange, "tolerance", "must not be below zero")
	}
	var band []float64
	if b, ok := in.OptionalObject("dead_band"); ok {
		band = []float64{b.Number("low"), b.Number("high")}
		if in.Err() == nil && band[0] > band[1] {
			b.Fail(document.CodeRange, "low", "must not lie above high")
		}
	}
	rate, hasRate := in.Optional("ramp_rate_per_s")
	latency := in.NumberOr("latency_s", 0)
	fraction, hasFraction := in.Optional("rate_limit_fraction_per_s")
	if in.Err() == nil && hasRate && rate < 0 {
		in.Fail(document.CodeRange, "ramp_rate_per_s", "give the speed without a sign")
	}
	if in.Err() == nil && (latency < 0 || (latency > 0 && !hasRate)) {
		in.Fail(
			document.CodeMissing, "ramp_rate_per_s",
			"correcting for a latency needs the ramp rate, and the latency must not be below zero",
		)
	}
	var set, reset []float64
	var list []Transition
	var setHalf, resetHalf []float64
	halfStep, atStart, traced := 0.0, false, false
	if t, ok := in.OptionalObject("trace"); ok {
		traced = true
		tr := readTrace(t)
		debounce := in.Whole("debounce_samples", 1, 1000)
		window := in.Number("bounce_window_s")
		if err := in.Err(); err != nil {
			return err
		}
		var err error
		if list, err = Transitions(tr, debounce, window); err != nil {
			return err
		}
		if hasRate {
			halfStep = float64(MedianStep(tr.T) * rate / 2)
		}
		atStart = tr.Contact[0]
		if atStart {
			list = nil
		}
		for _, x := range list {
			signed := rate
			if x.To != rising { // a contact set on rising acts while the pressure rises and resets while it falls
				signed = -rate
			}
			p := x.Middle - float64(signed*latency)
			if x.To {
				set, setHalf = append(set, p), append(setHalf, x.HalfWidth)
			} else {
				reset, resetHalf = append(reset, p), append(resetHalf, x.HalfWidth)
			}
			if !hasRate {
				halfStep = max(halfStep, x.HalfWidth)
			}
		}
	} else {
		for _, c := range in.List("cycles") {
			s, r := c.Number("set"), c.Number("reset")
			if in.Err() == nil && (rising && r > s || !rising && r < s) {
				c.Fail(
					document.CodeConflict, "reset",
					"lies on the wrong side of the set point for a switch that acts this way",
				)
			}
			set, reset = append(set, s), append(reset, r)
		}
		if in.Err() == nil && len(set) == 0 {
			in.Fail(document.CodeShape, "cycles", "at least one cycle is needed")
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	j := Judge(set, reset, nominal, tolerance, band, atStart)
	if traced {
		j.sampled(set, setHalf, resetHalf, nominal, tolerance, band)
	}
	out.Text("unit", unit)
	WriteStatistics(out, "set", set)
	WriteStatistics(out, "reset", reset)
	WriteStatistics(out, "dead_band", j.DeadBands)
	if traced {
		WriteTransitions(out, list)
		out.Number("half_step", halfStep)
		out.Number("u_sampling", halfStep/math.Sqrt(3))
	}
	numbers(out, "set_corrected", set)
	numbers(out, "reset_corrected", reset)
	numbers(out, "dead_band_each", j.DeadBands)
	if hasRate && hasFraction {
		out.Flag("rate_ok", !Beyond(rate, float64(fraction*math.Abs(nominal)), nominal))
	}
	if len(set) > 0 {
		out.Number("first_set", set[0])
	}
	out.Text("verdict", j.Verdict)
	if j.Reason != "" {
		out.Text("reason", j.Reason)
	}
	return nil
}

// MedianStep returns the median time between samples.
func MedianStep(t []float64) float64 {
	steps := make([]float64, 0, len(t)-1)
	for i := 1; i < len(t); i++ {
		steps = append(steps, t[i]-t[i-1])
	}
	numeric.Sort(steps)
	return steps[len(steps)/2]
}

func numbers(out *document.Writer, name string, list []float64) {
	out.BeginList(name)
	for _, x := range list {
		out.NumberItem(x)
	}
	out.EndList()
}

// WriteStatistics writes statistics of values as an object.
func WriteStatistics(out *document.Writer, name string, values []float64) {
	s := Describe(values)
	out.BeginObject(name)
	out.Whole("n", s.N)
	if s.N > 0 {
		out.Number("mean", s.Mean)
		out.Number("min", s.Min)
		out.Number("max", s.Max)
		out.Number("range", s.Range)
	}
	if s.HasSD {
		out.Number("sd", s.SD)
	}
	out.End()
}

// WriteTransitions writes the changes of a contact as a list.
func WriteTransitions(out *document.Writer, list []Transition) {
	out.BeginList("transitions")
	for _, x := range list {
		out.Begin()
		out.Whole("index", x.Index)
		to := 0
		if x.To {
			to = 1
		}
		out.Whole("to", to)
		out.Number("t_s", x.T)
		out.Number("p_mid", x.Middle)
		out.Number("half_width", x.HalfWidth)
		out.Whole("bounces", x.Bounces)
		out.End()
	}
	out.EndList()
}
