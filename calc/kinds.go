package calc

import "gaugewright/calc/document"

// kind is one kind of work: how a method of it is laid out in steps, and how the captures of these are judged. Both read the whole document
// {method, instrument, …}; evaluate writes the common part of a finding (verdict, reason, complete, missing, results, warnings) and its own.
type kind struct {
	name     string
	expand   func(in *document.Reader, p *plan) error
	evaluate func(in *document.Reader, out *document.Writer) error
}

// kinds is every kind of work, made once and never written to.
var kinds = []kind{
	{"gauge", expandGauge, evaluateGauge},
	airKind("altimeter", layAltimeter),
	airKind("airspeed", layAirspeed),
	airKind("vertical-speed", layVertical),
	airKind("reporting-altitude", layReporting),
	airKind("pitot-static-leak", layLeak),
	{"leak", expandLeak, evaluateLeak},
	{"switch", expandSwitch, evaluateSwitch},
	{"burst", expandBurst, evaluateBurst},
	{"programme", expandProgramme, evaluateProgramme},
}

// kindOf finds the kind that a document's method names.
func kindOf(in *document.Reader) *kind {
	m, ok := in.Raw("method")
	if !ok || m.Kind != document.Object {
		return &kinds[0] // whose own reading says what is wrong
	}
	name, ok := m.Get("kind")
	if !ok || name.Kind != document.String {
		return &kinds[0]
	}
	for i := range kinds {
		if kinds[i].name == name.Text {
			return &kinds[i]
		}
	}
	in.Fail(document.CodeRange, "method.kind", "there is no kind of work called "+document.Quote(name.Text))
	return &kinds[0]
}

// evaluateDoor is the room evaluate: a sheet of any kind of work → a finding. It takes a sheet that is not complete as well.
func evaluateDoor(in *document.Reader, out *document.Writer) error {
	k := kindOf(in)
	if err := in.Err(); err != nil {
		return err
	}
	return k.evaluate(in, out)
}

// expandDoor is the room expand: {method, instrument} of any kind of work → {steps, screens, duration_s}.
func expandDoor(in *document.Reader, out *document.Writer) error {
	k := kindOf(in)
	if err := in.Err(); err != nil {
		return err
	}
	p := &plan{out: out, screen: 1, label: in.ChoiceOr("label", "as found", "as left", "repeat")}
	out.BeginList("steps")
	if err := k.expand(in, p); err != nil {
		return err
	}
	out.EndList()
	out.Whole("screens", p.screen)
	out.Number("duration_s", p.seconds)
	if p.once {
		out.Flag("as_found_once", true)
	}
	return nil
}

// result is one figure of a finding with what it is held against, as every kind of work but the gauge's tables gives it.
type result struct {
	name           string // in words of the trade, such as "rate, vacuum"
	value          float64
	unit           string
	low, high      float64
	hasLow         bool
	hasHigh        bool
	expanded       float64 // uncertainty at coverage, 0 where it has none
	verdict        string  // "" for a figure that is told and not judged
	reason, source string  // where its limit comes from
	condition      string  // of a condition, which has no limits: whether it holds
}

func writeResults(out *document.Writer, list []result) {
	out.BeginList("results")
	for i := range list {
		r := &list[i]
		out.Begin()
		out.Text("name", r.name)
		out.Number("value", r.value)
		out.Text("unit", r.unit)
		if r.hasLow {
			out.Number("limit_low", r.low)
		}
		if r.hasHigh {
			out.Number("limit_high", r.high)
		}
		if r.expanded > 0 {
			out.Number("expanded", r.expanded)
		}
		for _, f := range [...][2]string{{"condition", r.condition}, {"verdict", r.verdict}, {"reason", r.reason}, {"source", r.source}} {
			if f[1] != "" {
				out.Text(f[0], f[1])
			}
		}
		out.End()
	}
	out.EndList()
}
