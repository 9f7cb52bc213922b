package work

import (
	"gaugewright/calc/document"
	"gaugewright/calc/standard"
)

// Kind is one kind of work: how its methods are laid out in steps, how the captures are judged, and
// what is doubted while they are typed. All functions read the whole document {method, instrument,
// …}. Evaluate writes the common part of a finding (verdict, reason, complete, missing, results,
// warnings) and the kind's own part.
type Kind struct {
	Name     string // as in method.kind
	Expand   func(in *document.Reader, p *Plan) error
	Evaluate func(in *document.Reader, out *document.Writer) error
	// The same for a look back on a standard; nil if the verdict does not rest on one.
	Look LookBack
	// The same for a look back on the meter that read a signal; nil if there is no signal.
	Meter LookBack
	// The same for a look back on the barometer beside a gauge standard; nil if none is used.
	Barometer LookBack
	// Doubts about a value; if nil, the plan's targets and the air of the place decide.
	Doubts Doubting
	// Unlike reports whether what a step reads says nothing of the pressure, as an altimeter does that
	// is set to another pressure than the standard one; nil if every step's value does.
	Unlike func(step string) bool
}

// On returns the look back on the device of a role: standard, meter or barometer; nil if the kind
// does not use it.
func (k *Kind) On(role string) LookBack {
	switch role {
	case "meter":
		return k.Meter
	case "barometer":
		return k.Barometer
	}
	return k.Look
}

// LookBack judges a sheet with a fallback standard, meter or barometer beyond the points of the
// sheet's own. It calls taken with every value of that device, as typed, that the verdict rests on.
type LookBack func(in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64)) error

// plainly is the evaluation of a sheet by its own standard alone.
func (l LookBack) plainly(in *document.Reader, out *document.Writer) error {
	return l(in, out, nil, func(float64) {})
}

// Measured returns a kind whose verdict rests on the standard.
func Measured(name string, expand func(in *document.Reader, p *Plan) error, look LookBack, doubts Doubting) Kind {
	return Kind{Name: name, Expand: expand, Evaluate: look.plainly, Look: look, Doubts: doubts}
}

// Kinds is the table of all kinds of work, made once and never written to.
type Kinds []Kind

// Has reports whether a kind of work uses a meter or a barometer.
func (kinds Kinds) Has(kind, role string) bool {
	for i := range kinds {
		if kinds[i].Name == kind {
			return kinds[i].On(role) != nil
		}
	}
	return false
}

// Without returns the message that a kind of work uses no meter or no barometer.
func Without(role string) string { return "work of this kind uses no " + role }

// Of finds the kind that a document's method names.
func (kinds Kinds) Of(in *document.Reader) *Kind {
	m, ok := in.Raw("method")
	if !ok || m.Kind != document.Object {
		return &kinds[0] // its own reading of the document reports the fault
	}
	name, ok := m.Get("kind")
	if !ok || name.Kind != document.String {
		return &kinds[0]
	}
	for i := range kinds {
		if kinds[i].Name == name.Text {
			return &kinds[i]
		}
	}
	in.Fail(document.CodeRange, "method.kind", "there is no kind of work called "+document.Quote(name.Text))
	return &kinds[0]
}

// EvaluateSheet is the calculation evaluate: a sheet of any kind of work → a finding. It also takes
// an incomplete sheet.
func (kinds Kinds) EvaluateSheet(in *document.Reader, out *document.Writer) error {
	k := kinds.Of(in)
	if err := in.Err(); err != nil {
		return err
	}
	return k.Evaluate(in, out)
}

// ExpandMethod is the calculation expand: {method, instrument} of any kind of work → {steps,
// screens, duration_s}.
func (kinds Kinds) ExpandMethod(in *document.Reader, out *document.Writer) error {
	_, err := kinds.expand(in, out)
	return err
}

// expand writes the plan of a method.
func (kinds Kinds) expand(in *document.Reader, out *document.Writer) (*Plan, error) {
	k := kinds.Of(in)
	if err := in.Err(); err != nil {
		return nil, err
	}
	p := &Plan{Out: out, Screen: 1, Label: in.ChoiceOr("label", "as found", "as left", "repeat")}
	out.BeginList("steps")
	if err := k.Expand(in, p); err != nil {
		return nil, err
	}
	out.EndList()
	out.Whole("screens", p.Screen)
	out.Number("duration_s", p.Seconds)
	if p.Once {
		out.Flag("as_found_once", true)
	}
	if p.Circuit {
		out.Flag("bypasses", true)
	}
	return p, nil
}
