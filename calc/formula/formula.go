// Package formula reads a formula in plain arithmetic and gives its value: numbers, names, + − * /
// ^, parentheses, and the functions sqrt, exp, ln, log10, sin, cos, tan, abs, min and max; pi is a
// number. It knows no units, keeps no state and gives the same bits everywhere.
package formula

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Bounds of a formula.
const (
	MostBytes = 2000
	mostDeep  = 50
)

// Formula is a parsed formula. Its names are indices into a list of values.
type Formula struct {
	code  []step
	depth int // of the stack that Value needs
}

type step struct {
	op    byte // 'n' number, 'v' value, '~' minus, + - * / ^, 'f' function
	x     float64
	index int // index of a value or a function
	count int // arguments of a function
}

var functions = [...]string{"sqrt", "exp", "ln", "log10", "sin", "cos", "tan", "abs", "min", "max"}

type parser struct {
	text  string
	at    int
	names []string
	used  []bool
	code  []step
	deep  int
	now   int // values on the stack
	most  int
	err   error
}

// Parse reads a formula.
//
//	sum = product {("+" | "-") product};  product = signed {("*" | "/") signed};  signed = ["-"] power;  power = value ["^" signed]
//
// Takes:   the text; the names that it may use.
// Gives:   the Formula, and which names it uses.
// Refuses: Fault shape with the position of the error; range for an unknown name and for a formula
// that is too long or too deep.
func Parse(text string, names []string) (*Formula, []bool, error) {
	p := &parser{text: text, names: names, used: make([]bool, len(names))}
	if len(text) > MostBytes {
		return nil, nil, document.Refuse(document.CodeRange, "formula", "is too long")
	}
	p.sum()
	p.space()
	if p.err == nil && p.at < len(p.text) {
		p.fail("here the formula should end")
	}
	if p.err != nil {
		return nil, nil, p.err
	}
	return &Formula{p.code, p.most}, p.used, nil
}

func (p *parser) fail(message string) {
	if p.err == nil {
		p.err = document.Refuse(document.CodeShape, "formula", "at character "+strconv.Itoa(p.at+1)+": "+message)
	}
}

func (p *parser) space() {
	for p.at < len(p.text) && (p.text[p.at] == ' ' || p.text[p.at] == '\t' || p.text[p.at] == '\n') {
		p.at++
	}
}

// take consumes one of some marks and returns it; 0 if none follows.
func (p *parser) take(marks string) byte {
	p.space()
	for i := range len(marks) {
		if p.err == nil && p.at < len(p.text) && p.text[p.at] == marks[i] {
			p.at++
			return marks[i]
		}
	}
	return 0
}

func (p *parser) put(s step, change int) {
	p.code = append(p.code, s)
	p.now += change
	p.most = max(p.most, p.now)
}

func (p *parser) sum() {
	p.product()
	for op := p.take("+-"); op != 0; op = p.take("+-") {
		p.product()
		p.put(step{op: op}, -1)
	}
}

func (p *parser) product() {
	p.signed()
	for op := p.take("*/"); op != 0; op = p.take("*/") {
		p.signed()
		p.put(step{op: op}, -1)
	}
}

func (p *parser) signed() {
	if p.deep++; p.deep > mostDeep {
		p.fail("too many parentheses or signs within each other")
	}
	if p.err == nil {
		if p.take("-") != 0 {
			p.signed()
			p.put(step{op: '~'}, 0)
		} else if p.value(); p.take("^") != 0 {
			p.signed()
			p.put(step{op: '^'}, -1)
		}
	}
	p.deep--
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' }
func digit(c byte) bool  { return c >= '0' && c <= '9' }

func (p *parser) value() {
	p.space()
	from := p.at
	switch {
	case p.at >= len(p.text):
		p.fail("a number, a name or a parenthesis is missing")
	case p.take("(") != 0:
		p.sum()
		if p.take(")") == 0 {
			p.fail("a parenthesis is not closed")
		}
	case digit(p.text[p.at]) || p.text[p.at] == '.':
		for p.at < len(p.text) && (digit(p.text[p.at]) || p.text[p.at] == '.') {
			p.at++
		}
		if p.at < len(p.text) && (p.text[p.at] == 'e' || p.text[p.at] == 'E') {
			p.at++
			if p.at < len(p.text) && (p.text[p.at] == '-' || p.text[p.at] == '+') {
				p.at++
			}
			for p.at < len(p.text) && digit(p.text[p.at]) {
				p.at++
			}
		}
		x, ok := document.Float(p.text[from:p.at])
		if !ok || !document.IsDecimal(p.text[from:p.at]) {
			p.at = from
			p.fail("this is not a number")
		}
		p.put(step{op: 'n', x: x}, 1)
	case letter(p.text[p.at]):
		for p.at < len(p.text) && (letter(p.text[p.at]) || digit(p.text[p.at])) {
			p.at++
		}
		p.named(p.text[from:p.at], from)
	default:
		p.fail("a number, a name or a parenthesis is expected")
	}
}

func (p *parser) named(name string, from int) {
	for i, n := range p.names {
		if n == name {
			p.used[i] = true
			p.put(step{op: 'v', index: i}, 1)
			return
		}
	}
	if name == "pi" {
		p.put(step{op: 'n', x: math.Pi}, 1)
		return
	}
	for i, f := range functions {
		if f != name {
			continue
		}
		if p.take("(") == 0 {
			p.fail(name + " needs its value in parentheses")
			return
		}
		n := 1
		for p.sum(); p.take(",") != 0; p.sum() {
			n++
		}
		if p.take(")") == 0 {
			p.fail("a parenthesis is not closed")
		}
		if n > 1 && f != "min" && f != "max" {
			p.fail(name + " takes one value")
		}
		p.put(step{op: 'f', index: i, count: n}, 1-n)
		return
	}
	p.at = from
	if p.err == nil {
		p.err = document.Refuse(document.CodeRange, "formula", "there is no quantity called "+document.Quote(name))
	}
}

// Value returns the value of a formula; it may not be finite.
//
// Takes:   the values of the names, in their order; a stack of at least Depth numbers.
func (f *Formula) Value(values, stack []float64) float64 {
	n := 0
	for i := range f.code {
		s := &f.code[i]
		switch s.op {
		case 'n':
			stack[n] = s.x
			n++
		case 'v':
			stack[n] = values[s.index]
			n++
		case '~':
			stack[n-1] = -stack[n-1]
		case 'f':
			n -= s.count - 1
			stack[n-1] = call(functions[s.index], stack[n-1:n-1+s.count])
		default:
			n--
			stack[n-1] = apply(s.op, stack[n-1], stack[n])
		}
	}
	return stack[0]
}

// Depth returns how many numbers the stack for Value must hold.
func (f *Formula) Depth() int { return f.depth }

func apply(op byte, a, b float64) float64 {
	switch op {
	case '+':
		return a + b
	case '-':
		return a - b
	case '*':
		return float64(a * b)
	case '/':
		return a / b
	}
	return power(a, b)
}

// power multiplies for whole exponents up to 64, so these work for negative values too.
func power(a, b float64) float64 {
	if b == math.Floor(b) && math.Abs(b) <= 64 {
		x := 1.0
		for range int(math.Abs(b)) {
			x = float64(x * a)
		}
		if b < 0 {
			return 1 / x
		}
		return x
	}
	if a < 0 {
		return math.Sqrt(a) // not a number below zero, which no result may be
	}
	return numeric.Pow(a, b)
}

func call(name string, a []float64) float64 {
	x := a[0]
	switch name {
	case "sqrt":
		return math.Sqrt(x)
	case "exp":
		return numeric.Exp(x)
	case "ln":
		return numeric.Log(x)
	case "log10":
		return numeric.Log(x) / math.Ln10
	case "sin":
		return numeric.Sin(x)
	case "cos":
		return numeric.Cos(x)
	case "tan":
		return numeric.Tan(x)
	case "abs":
		return math.Abs(x)
	}
	for _, y := range a[1:] {
		if name == "min" {
			x = min(x, y)
		} else {
			x = max(x, y)
		}
	}
	return x
}
