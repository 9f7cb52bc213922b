package programme

import (
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// FromPlan makes a programme of the steps of a plan document, as calculation expand gives them for
// any kind of work.
//
// Gives:   steps whose text form describes the same work. Notes carry what only the screens of a
// kind of work show: where each value belongs, and the altitude and airspeed of a setting, whose
// own step becomes the absolute static pressure.
// Refuses: a step that the text form cannot express, on its field.
func FromPlan(in *document.Reader) []Step {
	p := &planned{in: in, names: map[string]bool{}}
	for _, s := range in.List("steps") {
		p.step(s)
	}
	for _, n := range in.Names() { // the other fields of a plan document
		in.Raw(n)
	}
	if in.Err() != nil {
		return nil
	}
	if p.unit.Unit != "" {
		p.steps = append([]Step{p.unit}, p.steps...)
	}
	again, err := Parse(Text(p.steps))
	if err != nil {
		in.Fail(document.CodeRange, "steps", err.Error()+" (of the steps' text form)")
		return nil
	}
	return again
}

type planned struct {
	in    *document.Reader
	steps []Step
	unit  Step
	names map[string]bool
}

func (p *planned) add(s Step) { p.steps = append(p.steps, s) }

func (p *planned) note(text string) {
	if text != "" {
		p.add(Step{Do: Note, Text: clip(text)})
	}
}

func clip(text string) string {
	b := []byte(text)
	for i, c := range b {
		if c < 0x20 && c != '\n' && c != '\t' || c == 0x7F {
			b[i] = ' '
		}
	}
	end := len(b)
	if end > MaxText {
		end = MaxText
		for end > 0 && b[end]&0xC0 == 0x80 {
			end--
		}
	}
	return string(b[:end])
}

func (p *planned) step(in *document.Reader) {
	defer func() {
		for _, n := range in.Names() {
			in.Raw(n)
		}
	}()
	do := in.Choice("do", Set, Ramp, Hold, Settle, Read, Ask, Exercise, Vent, Note)
	text := in.TextOr("text", "")
	s := Step{Do: do, Text: clip(text)}
	if do != Note && do != Ask {
		s.Text = ""
	}
	if do == Exercise || do == Set || do == Ramp || do == Settle {
		p.pressure(in, &s)
	}
	switch do {
	case Note:
		if text == "" {
			return
		}
	case Vent, Hold:
		if do == Hold {
			s.Seconds = p.number(in, "seconds", "1")
		}
		p.note(text)
	case Set:
		if in.Has("static_pa") {
			p.air(in, &s, text)
		} else {
			p.note(text)
		}
	case Ramp:
		p.note(text)
		s.Rate = p.number(in, "rate", "1")
		s.Until = in.Choice("until", untils...)
	case Settle:
		p.note(text)
		s.Seconds, s.AtMost = p.number(in, "seconds", "1"), p.number(in, "at_most_s", "600")
	case Exercise:
		s.Count = in.WholeOr("count", 1, MaxCount, 1)
	case Read:
		p.note(text)
		s.From = "gauge"
		if in.TextOr("of", "indicated") == "applied" {
			s.From = "standard"
		}
		s.Name = p.name(in.Text("id"))
		if every, ok := in.Optional("every_s"); ok && every > 0 {
			n := int(min(in.NumberOr("seconds", 0)/every, MaxCount-1)) + 1
			s.Count = max(n, 1)
		}
	case Ask:
		s.As = in.ChoiceOr("as", "yes", "number", "text", "photo")
		if s.As != "yes" {
			s.Name = p.name(in.Text("id"))
		}
		if text == "" {
			s.Text = in.Text("id")
		}
	}
	p.add(s)
}

func (p *planned) number(in *document.Reader, name, otherwise string) string {
	d, ok := in.OptionalDecimal(name)
	switch {
	case !ok || d.Value <= 0:
		return otherwise
	case d.Text != "" && d.Text[0] == '+':
		return d.Text[1:]
	}
	return d.Text
}

// pressure reads the target and converts it to the programme's unit if it has another.
func (p *planned) pressure(in *document.Reader, s *Step) {
	if in.Has("static_pa") {
		return
	}
	unit := in.TextOr("unit", "")
	if p.unit.Unit == "" && unit != "" {
		p.unit = Step{Do: Unit, Unit: unit}
	}
	field := "target"
	if s.Do == Settle {
		field = "within"
	}
	d := in.Decimal(field)
	text := d.Text
	if text != "" && text[0] == '+' {
		text = text[1:]
	}
	if unit != "" && unit != p.unit.Unit && in.Err() == nil {
		from := units.Of(in, "unit", units.Pressure)
		to, ok := units.Find(p.unit.Unit)
		x, parsed := numeric.ParseExact(text)
		if in.Err() == nil && ok && parsed {
			text, _ = to.ExactFromSI(from.ExactSI(x)).Text(9)
		}
	}
	if s.Do == Settle {
		s.Within = text
	} else {
		s.Target = text
	}
}

// air writes a setting of pitot-static instruments: a note that describes it in words, then the
// absolute static pressure.
func (p *planned) air(in *document.Reader, s *Step, text string) {
	if p.unit.Unit == "" {
		p.unit = Step{Do: Unit, Unit: "Pa", Mode: "absolute"}
	}
	static := in.Number("static_pa")
	words := text
	if words != "" {
		words += " "
	}
	words += "Altitude " + shown(in.NumberOr("altitude_ft", 0)) + " ft, airspeed " + shown(in.NumberOr("cas_kt", 0)) + " kt, impact pressure " +
		shown(in.NumberOr("impact_pa", 0)) + " Pa."
	p.note(words)
	s.Target = plainNumber(static)
}

// plainNumber formats a number for the text form.
func plainNumber(x float64) string { return numeric.FormatDecimals(x, 3) }

// name makes a name from a step's id.
func (p *planned) name(id string) string {
	b := []byte(id)
	for i, c := range b {
		if !letter(c) && !digit(c) {
			b[i] = '_'
		}
	}
	if len(b) > MaxName-4 {
		b = b[:MaxName-4]
	}
	name := string(b)
	if !isName(name) {
		name = "v_" + name
	}
	one := name
	for n := 2; p.names[one]; n++ {
		one = name + "_" + strconv.Itoa(n)
	}
	p.names[one] = true
	return one
}
