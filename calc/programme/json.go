package programme

import (
	"strconv"

	"gaugewright/calc/document"
)

// Put writes steps as a list, each with its line.
func Put(out *document.Writer, name string, steps []Step) {
	out.BeginList(name)
	for i := range steps {
		s := &steps[i]
		out.Begin()
		out.Whole("line", s.Line)
		out.Text("do", s.Do)
		for _, f := range s.texts() {
			if *f.value != "" || s.needs(f.name) {
				out.Text(f.name, *f.value)
			}
		}
		if s.When != nil {
			out.Text("when", s.When.String())
		}
		if s.Count > 0 {
			out.Whole("count", s.Count)
		}
		if s.Do == Repeat || s.Do == If {
			Put(out, "steps", s.Steps)
		}
		if len(s.Else) > 0 {
			Put(out, "else", s.Else)
		}
		out.End()
	}
	out.EndList()
}

// field is one text field of a step in its JSON form.
type field struct {
	name  string
	value *string
}

// texts gives the text fields that a step of this kind has, in the order written.
func (s *Step) texts() []field {
	switch s.Do {
	case Unit:
		return []field{{"unit", &s.Unit}, {"mode", &s.Mode}}
	case Set:
		return []field{{"target", &s.Target}, {"rate", &s.Rate}}
	case Ramp:
		return []field{{"target", &s.Target}, {"rate", &s.Rate}, {"until", &s.Until}}
	case Hold:
		return []field{{"seconds", &s.Seconds}}
	case Settle:
		return []field{{"within", &s.Within}, {"seconds", &s.Seconds}, {"at_most", &s.AtMost}}
	case Read:
		return []field{{"name", &s.Name}, {"from", &s.From}}
	case Ask:
		return []field{{"text", &s.Text}, {"as", &s.As}, {"name", &s.Name}}
	case Exercise:
		return []field{{"target", &s.Target}}
	case Note, Stop:
		return []field{{"text", &s.Text}}
	}
	return nil
}

// needs reports whether a text field is required.
func (s *Step) needs(name string) bool {
	switch s.Do + " " + name {
	case "unit mode", "set rate", "ask name":
		return false
	}
	return true
}

// Steps reads the list that Put writes. Lines are counted again, as in the canonical text.
//
// Refuses: faults on the field, such as programme steps[3].target.
func Steps(in *document.Reader, name string) []Step {
	r := &reader{in: in}
	list := r.list(in, name, 0)
	if in.Err() != nil {
		return nil
	}
	again, err := Parse(Text(list)) // so that one set of rules applies and lines are counted
	if err != nil {
		in.Fail(document.CodeRange, name, err.Error()+" (of the steps' text form)")
		return nil
	}
	return again
}

type reader struct {
	in    *document.Reader
	steps int
}

func (r *reader) list(in *document.Reader, name string, depth int) []Step {
	if depth > MaxNesting {
		in.Fail(document.CodeRange, name, "blocks are nested more than "+strconv.Itoa(MaxNesting)+" deep")
		return nil
	}
	var list []Step
	for _, item := range in.List(name) {
		if r.steps++; r.steps > MaxSteps {
			in.Fail(document.CodeRange, name, "the programme has more than "+strconv.Itoa(MaxSteps)+" steps")
		}
		if in.Err() != nil {
			return nil
		}
		list = append(list, r.step(item, depth))
	}
	return list
}

func (r *reader) step(in *document.Reader, depth int) Step {
	s := Step{Do: in.Choice("do", Unit, Set, Ramp, Hold, Settle, Read, Ask, Exercise, Vent, Repeat, If, Note, Stop)}
	in.WholeOr("line", 0, MaxBytes, 0)
	for _, f := range s.texts() {
		if !in.Has(f.name) && !s.needs(f.name) {
			in.Raw(f.name)
			continue
		}
		switch f.name {
		case "target", "rate", "seconds", "within", "at_most":
			*f.value = in.Decimal(f.name).Text
			if *f.value != "" && (*f.value)[0] == '+' {
				*f.value = (*f.value)[1:]
			}
		default:
			*f.value = in.Text(f.name)
			r.word(in, &s, f)
		}
	}
	switch s.Do {
	case Exercise:
		s.Count = in.Whole("count", 1, MaxCount)
	case Read:
		s.Count = in.WholeOr("count", 1, MaxCount, 0)
	case Repeat:
		if in.Has("when") {
			s.Count = in.WholeOr("count", 1, MaxCount, 0)
		} else {
			s.Count = in.Whole("count", 1, MaxCount)
		}
	}
	if s.Do == If || s.Do == Repeat && in.Has("when") {
		s.When = when(in)
	}
	if s.Do == If || s.Do == Repeat {
		s.Steps = r.list(in, "steps", depth+1)
	}
	if in.Has("else") {
		switch {
		case s.Do == If, s.Do == Settle, s.Do == Ramp, s.Do == Repeat && s.When != nil:
			s.Else = r.list(in, "else", depth+1)
		}
	}
	return s
}

// word refuses a text that the text form cannot express or would read as something else.
func (r *reader) word(in *document.Reader, s *Step, f field) {
	if in.Err() != nil {
		return
	}
	v := *f.value
	bad := ""
	switch f.name {
	case "text":
		if !isText(v) {
			bad = "the text has more than " + strconv.Itoa(MaxText) + " bytes, or characters that cannot be shown"
		}
	case "name":
		if !isName(v) {
			bad = short(v) + " cannot be a name"
		}
	case "unit":
		if !isUnit(v) {
			bad = short(v) + " cannot be a unit"
		}
	default:
		list := map[string][]string{"mode": modes, "until": untils, "from": sources, "as": answers}[f.name]
		if !contains(list, v) {
			bad = short(v) + " is not one of" + joined(list)
		}
	}
	if bad != "" {
		in.Fail(document.CodeRange, f.name, bad)
	}
}

func when(in *document.Reader) *Expr {
	text := in.Text("when")
	if in.Err() != nil {
		return nil
	}
	e, err := ParseExpr(text)
	if err != nil {
		in.Fail(document.CodeSyntax, "when", err.Error())
		return nil
	}
	return e
}
