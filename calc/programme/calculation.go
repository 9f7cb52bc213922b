package programme

import "gaugewright/calc/document"

// Calculations returns the calculations plan, follow and rehearse.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "plan", Call: calculatePlan}, {Name: "follow", Call: calculateFollow},
		{Name: "rehearse", Call: calculateRehearse},
	}
}

func calculatePlan(in *document.Reader, out *document.Writer) error {
	var steps []Step
	var fault *Fault
	if v, ok := in.Raw("programme"); ok && v.Kind == document.Array {
		steps = Steps(in, "programme")
	} else if plan, whole := in.OptionalObject("expansion"); whole {
		steps = FromPlan(plan)
		if in.Has("programme") {
			in.Fail(document.CodeConflict, "programme", "it is either a programme or an expansion")
		}
	} else {
		text := in.Text("programme")
		if in.Err() == nil {
			var err error
			if steps, err = Parse(text); err != nil {
				var ok bool
				if fault, ok = err.(*Fault); !ok {
					return err
				}
			}
		}
	}
	facts := ReadFacts(in, steps)
	short := in.Has("only") && in.Choice("only", "findings") != ""
	if err := in.Err(); err != nil {
		return err
	}
	var report Report
	if fault != nil {
		report.Findings = []Finding{{"error", fault.Code, fault.Line, fault.Message}}
	} else {
		report = Check(steps, facts)
		if !short {
			out.Text("text", Text(steps))
		}
		out.Number("duration_s", report.Duration)
		if report.Partial {
			out.Flag("duration_partial", true)
		}
	}
	putLimits(out, &facts)
	if !short {
		Put(out, "steps", steps)
	}
	out.BeginList("findings")
	for _, f := range report.Findings {
		out.Begin()
		out.Text("level", f.Level)
		out.Text("code", f.Code)
		out.Whole("line", f.Line)
		out.Text("message", f.Message)
		out.End()
	}
	out.EndList()
	return nil
}

// putLimits writes the limits that the programme was checked with, in its unit and mode.
func putLimits(out *document.Writer, f *Facts) {
	if f.Instrument == nil && f.Standard == nil && f.Weakest == nil && f.Relief == nil {
		return
	}
	put := func(name string, a *Amount) {
		if a != nil {
			out.Text(name, a.Text)
		}
	}
	out.BeginObject("limits")
	for _, r := range [...]struct {
		name string
		r    *Range
	}{{"instrument", f.Instrument}, {"standard", f.Standard}} {
		if r.r != nil {
			out.BeginObject(r.name)
			put("low", &r.r.Low)
			put("high", &r.r.High)
			put("max_rate", r.r.MaxRate)
			out.End()
		}
	}
	put("max_rate", f.maxRate())
	put("weakest", f.Weakest)
	put("relief", f.Relief)
	out.End()
}
