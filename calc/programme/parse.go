package programme

import (
	"strconv"
	"unicode/utf8"

	"gaugewright/calc/document"
)

type parser struct {
	scanner
	steps, depth, terms, parts int
	nodes                      []Expr  // spare nodes, allocated in chunks
	inner                      []*Expr // spare argument lists, likewise
	refs                       []*Expr // all names in expressions
	odd, divides               bool    // of the latest expression
	open                       []Step  // steps of the open blocks
	ready                      []Step  // spare steps of blocks, allocated in chunks
}

// Parse reads a programme's text form: one step to a line, # before a comment, blocks in braces.
//
// Refuses: a Fault "syntax" or "limit" with the line; then there are no steps.
func Parse(text string) ([]Step, error) {
	p := &parser{scanner: scanner{src: text, line: 1}}
	if len(text) > MaxBytes {
		return nil, &Fault{1, "limit", "the programme is longer than " + strconv.Itoa(MaxBytes) + " bytes"}
	}
	if !utf8.ValidString(text) {
		return nil, &Fault{1, "syntax", "the programme is not UTF-8 text"}
	}
	p.next()
	list := p.list()
	if p.fault != nil {
		return nil, p.fault
	}
	return list, nil
}

// list reads the steps of the whole programme.
func (p *parser) list() []Step {
	// Steps are large: reserving space saves moving them.
	list := make([]Step, 0, min(outer(p.src[p.i:])+1, MaxSteps))
	for p.more("") {
		if n := len(list); n < cap(list) {
			list = list[:n+1] // zero: never used before
		} else {
			list = append(list, Step{})
		}
		p.step(&list[len(list)-1], len(list) == 1)
		p.ends("")
	}
	return list
}

// inside reads the steps of a block, up to its brace.
func (p *parser) inside() []Step {
	low := len(p.open)
	for p.more("}") {
		var s Step // not in p.open yet, which may move while the step's own blocks are read
		p.step(&s, false)
		p.open = append(p.open, s)
		p.ends("}")
	}
	n := len(p.open) - low
	if n == 0 {
		return nil
	}
	const chunk = 32
	if n > len(p.ready) {
		p.ready = make([]Step, max(n, chunk))
	}
	list := p.ready[:n:n]
	p.ready = p.ready[n:]
	copy(list, p.open[low:])
	p.open = p.open[:low]
	return list
}

// more advances to the next step. It returns false at the closing sign, at the end of the programme
// and after a fault.
func (p *parser) more(closing string) bool {
	for p.fault == nil && p.tok.kind == newline {
		p.next()
	}
	if p.fault != nil || p.tok.kind == end || closing != "" && p.is(symbol, closing) {
		return false
	}
	if p.steps++; p.steps > MaxSteps {
		p.fail("limit", "the programme has more than "+strconv.Itoa(MaxSteps)+" steps")
		return false
	}
	return true
}

// ends checks that something permitted follows the end of a step.
func (p *parser) ends(closing string) {
	if p.tok.kind != newline && p.tok.kind != end && !(closing != "" && p.is(symbol, closing)) {
		p.fail("syntax", "the step goes on with "+p.found()+"; the next step begins on a new line")
	}
}

// outer counts the lines that do not begin with a space. As most people write programmes, these are
// the steps outside blocks.
func outer(text string) int {
	n := 0
	for i := 1; i < len(text); i++ {
		if text[i-1] == '\n' && classes[text[i]] == alphabetic {
			n++
		}
	}
	return n
}

func (p *parser) block() []Step {
	p.need("{", "a block is written in braces")
	if p.fault != nil {
		return nil
	}
	if p.depth++; p.depth > MaxNesting {
		p.fail("limit", "blocks are nested more than "+strconv.Itoa(MaxNesting)+" deep")
		return nil
	}
	list := p.inside()
	p.depth--
	if p.fault == nil {
		p.need("}", "close the block")
	}
	return list
}

func (p *parser) otherwise() []Step {
	if p.take("else") {
		return p.block()
	}
	return nil
}

const (
	formSet      = "set 500 at 10/s"
	formRamp     = "ramp 500 at 2/s until contact"
	formHold     = "hold 60 s"
	formSettle   = "settle within 0.2 for 10 s, at most 120 s"
	formRead     = "read a from gauge 3 times"
	formAsk      = `ask "the text" as number into a`
	formExercise = "exercise 3 to 1000"
	formRepeat   = "repeat until a > 2, at most 5 { … }"
)

func (p *parser) step(s *Step, first bool) {
	s.Line, s.Do = p.tok.line, p.tok.text
	if p.tok.kind != word {
		p.fail("syntax", "a step begins with a word such as set, hold, read or vent, not with "+p.found())
		return
	}
	if s.Do == Unit {
		if !first {
			p.fail("syntax", "the unit comes before the first step")
			return
		}
		p.unit(s)
		return
	}
	p.next()
	switch s.Do {
	case Set:
		s.Target = p.signed(formSet)
		if p.is(word, "at") {
			s.Rate = p.rate(formSet)
		}
	case Ramp:
		s.Target = p.signed(formRamp)
		s.Rate = p.rate(formRamp)
		p.need("until", formRamp)
		s.Until = p.oneOf(untils, formRamp)
		s.Else = p.otherwise()
	case Hold:
		s.Seconds = p.seconds(formHold)
	case Settle:
		p.need("within", formSettle)
		s.Within = p.above(formSettle)
		p.need("for", formSettle)
		s.Seconds = p.seconds(formSettle)
		p.atMost(formSettle)
		s.AtMost = p.seconds(formSettle)
		s.Else = p.otherwise()
	case Read:
		s.Name = p.name(formRead)
		p.need("from", formRead)
		s.From = p.oneOf(sources, formRead)
		if p.tok.kind == number {
			s.Count = p.count(formRead)
			p.need("times", formRead)
		}
	case Ask:
		s.Text = p.text(formAsk)
		p.need("as", formAsk)
		s.As = p.oneOf(answers, formAsk)
		if p.take("into") {
			s.Name = p.name(formAsk)
		}
	case Exercise:
		s.Count = p.count(formExercise)
		p.need("to", formExercise)
		s.Target = p.signed(formExercise)
	case Vent:
	case Repeat:
		p.repeat(s)
	case If:
		s.When = p.expr()
		s.Steps = p.block()
		s.Else = p.otherwise()
	case Note:
		s.Text = p.text(`note "the text"`)
	case Stop:
		s.Text = p.text(`stop "the reason"`)
	default:
		p.fail(
			"syntax",
			short(s.Do)+" is not a step; the steps are set ramp hold settle read ask exercise vent repeat if note stop",
		)
	}
}

func (p *parser) repeat(s *Step) {
	if !p.take("until") {
		s.Count = p.count("repeat 3 { … }")
		s.Steps = p.block()
		return
	}
	s.When = p.expr()
	if p.is(symbol, ",") {
		p.atMost(formRepeat)
		s.Count = p.count(formRepeat)
		p.take("times")
	}
	s.Steps = p.block()
	s.Else = p.otherwise()
}

// unit reads "unit kPa gauge"; a unit's spelling may hold characters that mean something elsewhere.
func (p *parser) unit(s *Step) {
	p.blank()
	start := p.i
	for p.i < len(p.src) && p.src[p.i] > ' ' && p.src[p.i] != ';' && p.src[p.i] != '#' {
		p.i++
	}
	s.Unit = p.src[start:p.i]
	if !isUnit(s.Unit) {
		p.fail("syntax", "here a unit is expected: unit kPa gauge")
		return
	}
	p.next()
	if p.tok.kind == word {
		s.Mode = p.oneOf(modes, "unit kPa gauge")
	}
}

func (p *parser) atMost(form string) {
	p.need(",", form)
	p.need("at", form)
	p.need("most", form)
}

func (p *parser) number(form string) string {
	t := p.tok.text
	if p.tok.kind != number {
		p.fail("syntax", "here a number is expected, not "+p.found()+": "+form)
		return "0"
	}
	p.next()
	return t
}

func (p *parser) signed(form string) string {
	if p.take("-") {
		return "-" + p.number(form)
	}
	p.take("+")
	return p.number(form)
}

// above reads a number greater than zero.
func (p *parser) above(form string) string {
	line := p.tok.line
	t := p.number(form)
	if p.fault == nil && !positive(t) {
		p.tok.line = line
		p.fail("syntax", "the number must be above zero: "+form)
	}
	return t
}

func positive(s string) bool {
	for i := 0; i < len(s) && (digit(s[i]) || s[i] == '.'); i++ {
		if i == len(s)-1 && s[i] != '0' && s[i] != '.' {
			return true // the usual case, without a power of ten
		}
	}
	x, ok := document.Float(s)
	return ok && x > 0
}

func (p *parser) rate(form string) string {
	p.need("at", form)
	t := p.above(form)
	p.need("/", form)
	p.need("s", form)
	return t
}

func (p *parser) seconds(form string) string {
	t := p.above(form)
	p.need("s", form)
	return t
}

func (p *parser) count(form string) int {
	line := p.tok.line
	t := p.number(form)
	n, err := strconv.Atoi(t)
	if p.fault != nil {
		return 0
	}
	if err != nil || n < 1 || n > MaxCount {
		p.tok.line = line
		p.fail("limit", "how often must be a whole number from 1 to "+strconv.Itoa(MaxCount)+": "+form)
		return 0
	}
	return n
}

func (p *parser) oneOf(list []string, form string) string {
	t := p.tok.text
	if p.tok.kind != word || !contains(list, t) {
		p.fail("syntax", "here one of"+joined(list)+" is expected, not "+p.found()+": "+form)
		return ""
	}
	p.next()
	return t
}

//go:noinline
func joined(list []string) string {
	s := ""
	for _, x := range list {
		s += " " + x
	}
	return s
}

func (p *parser) name(form string) string {
	t := p.tok.text
	if p.tok.kind != word || !isName(t) {
		p.fail(
			"syntax", p.found()+" cannot be a name (letters, digits and _, and no word of the programme's own): "+form,
		)
		return ""
	}
	p.next()
	return t
}

func (p *parser) text(form string) string {
	t := p.tok.text
	if p.tok.kind != quoted {
		p.fail("syntax", "here a text in double quotes is expected, not "+p.found()+": "+form)
		return ""
	}
	p.next()
	return t
}

// Text writes the canonical text form: one step to a line, two spaces for each block, no comments.
// Parsing and writing it again gives the same bytes.
func Text(steps []Step) string { return string(appendSteps(nil, steps, 0)) }

func appendSteps(b []byte, steps []Step, depth int) []byte {
	for i := range steps {
		b = indent(b, depth)
		b = steps[i].append(b, depth)
		b = append(b, '\n')
	}
	return b
}

//go:noinline
func appendAll(b []byte, parts []string) []byte {
	for _, t := range parts {
		b = append(b, t...)
	}
	return b
}

func indent(b []byte, depth int) []byte {
	for range depth {
		b = append(b, ' ', ' ')
	}
	return b
}

func (s *Step) append(b []byte, depth int) []byte {
	put := func(parts ...string) { b = appendAll(b, parts) }
	put(s.Do)
	switch s.Do {
	case Unit:
		put(" ", s.Unit)
		if s.Mode != "" {
			put(" ", s.Mode)
		}
	case Set:
		put(" ", s.Target)
		if s.Rate != "" {
			put(" at ", s.Rate, "/s")
		}
	case Ramp:
		put(" ", s.Target, " at ", s.Rate, "/s until ", s.Until)
	case Hold:
		put(" ", s.Seconds, " s")
	case Settle:
		put(" within ", s.Within, " for ", s.Seconds, " s, at most ", s.AtMost, " s")
	case Read:
		put(" ", s.Name, " from ", s.From)
		if s.Count > 0 {
			put(" ", strconv.Itoa(s.Count), " times")
		}
	case Ask:
		put(" ", quote(s.Text), " as ", s.As)
		if s.Name != "" {
			put(" into ", s.Name)
		}
	case Exercise:
		put(" ", strconv.Itoa(s.Count), " to ", s.Target)
	case Repeat:
		if s.When == nil {
			put(" ", strconv.Itoa(s.Count))
			break
		}
		put(" until ", s.When.String())
		if s.Count > 0 {
			put(", at most ", strconv.Itoa(s.Count))
		}
	case If:
		put(" ", s.When.String())
	case Note, Stop:
		put(" ", quote(s.Text))
	}
	braces := func(steps []Step) {
		put(" {\n")
		b = appendSteps(b, steps, depth+1)
		b = append(indent(b, depth), '}')
	}
	if s.Do == Repeat || s.Do == If {
		braces(s.Steps)
	}
	if len(s.Else) > 0 {
		put(" else")
		braces(s.Else)
	}
	return b
}

// quote writes a text in quotes; isText has excluded anything else that would need an escape.
//
//go:noinline
func quote(s string) string { return string(document.AppendText(nil, s)) }
