package work

import (
	"gaugewright/calc/document"
	"gaugewright/calc/standard"
)

// Kind is one kind of work: how a method of it is laid out in steps, how the captures of these are
// judged, and what is doubted while they are typed. All read the whole document {method,
// instrument, …}; evaluate writes the common part of a finding (verdict, reason, complete, missing,
// results, warnings) and its own.
type Kind struct {
	Name     string // as method.kind has it
	Expand   func(in *document.Reader, p *Plan) error
	Evaluate func(in *document.Reader, out *document.Writer) error
	// The same for a look back on a standard; nil where the verdict does not rest on one.
	Look LookBack
	// The same for a look back on what read a signal; nil where nothing reads one.
	Meter LookBack
	// The same for a look back on what measured the air beside a gauge standard; nil where none is
	// added.
	Barometer LookBack
	// What speaks against a value; nil where the plan's targets and the air of the place say it.
	Doubts Doubting
}

// On is the look back on a standard, or on a meter or a barometer by that role; nil where the kind
// has none of it.
func (k *Kind) On(role string) LookBack {
	switch role {
	case "meter":
		return k.Meter
	case "barometer":
		return k.Barometer
	}
	return k.Look
}

// LookBack judges a sheet with a second standard, meter or barometer beyond the points of the
// sheet's own, and calls taken with everything that the verdict rests on and that it has measured,
// as typed.
type LookBack func(in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64)) error

// plainly is the evaluation of a sheet by its own standard alone.
func (l LookBack) plainly(in *document.Reader, out *document.Writer) error {
	return l(in, out, nil, func(float64) {})
}

// Measured is a kind whose verdict rests on the standard.
func Measured(name string, expand func(in *document.Reader, p *Plan) error, look LookBack, doubts Doubting) Kind {
	return Kind{Name: name, Expand: expand, Evaluate: look.plainly, Look: look, Doubts: doubts}
}

// Kinds is the table of all kinds of work, made once and never written to.
type Kinds []Kind

// Has says whether a kind of work uses a meter or a barometer.
func (kinds Kinds) Has(kind, role string) bool {
	for i := range kinds {
		if kinds[i].Name == kind {
			return kinds[i].On(role) != nil
		}
	}
	return false
}

// Without says that a kind of work has no use for a meter or a barometer.
func Without(role string) string { return "work of this kind uses no " + role }

// Of finds the kind that a document's method names.
func (kinds Kinds) Of(in *document.Reader) *Kind {
	m, ok := in.Raw("method")
	if !ok || m.Kind != document.Object {
		return &kinds[0] // whose own reading says what is wrong
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

// EvaluateSheet is the calculation evaluate: a sheet of any kind of work → a finding. It takes a
// sheet that is not complete as well.
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
