package programme

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Expr is an expression. Op is "number" or "name" with the Text, or an operation: + - * / neg, < <= > >= = !=, and or not, abs min max mean.
type Expr struct {
	Op   string
	Text string
	Args []*Expr
}

var comparisons = []string{"<", "<=", ">", ">=", "=", "!="}

// rank is how tightly an operation binds.
func rank(op string) int {
	switch op {
	case "or":
		return 1
	case "and":
		return 2
	case "not":
		return 3
	case "<", "<=", ">", ">=", "=", "!=":
		return 4
	case "+", "-":
		return 5
	case "*", "/":
		return 6
	case "neg":
		return 7
	}
	return 8
}

// yesNo says whether an operation gives yes or no rather than a number.
func yesNo(op string) bool { return rank(op) <= 4 }

// ParseExpr reads one expression.
//
// Refuses: a Fault "syntax" or "limit", on line 1.
func ParseExpr(s string) (*Expr, error) {
	if len(s) > MaxBytes {
		return nil, &Fault{1, "limit", "the expression is too long"}
	}
	p := &parser{scanner: scanner{src: s, line: 1}}
	p.next()
	e := p.expr()
	if p.tok.kind != end {
		p.fail("syntax", "the expression goes on with "+p.found())
	}
	if p.fault != nil {
		return nil, p.fault
	}
	return e, nil
}

func (p *parser) expr() *Expr {
	p.terms, p.parts = 0, 0
	return p.binary(1)
}

func (p *parser) node(op, text string, args ...*Expr) *Expr {
	if p.terms++; p.terms > MaxTerms {
		p.fail("limit", "the expression has more than "+strconv.Itoa(MaxTerms)+" terms")
	}
	const room = 64
	if len(p.nodes) == 0 {
		p.nodes = make([]Expr, room)
	}
	e := &p.nodes[0]
	p.nodes = p.nodes[1:]
	if len(args) > 0 {
		if len(p.inner) < len(args) {
			p.inner = make([]*Expr, room+len(args))
		}
		n := copy(p.inner, args)
		args, p.inner = p.inner[:n:n], p.inner[n:]
	}
	e.Op, e.Text, e.Args = op, text, args
	return e
}

func (p *parser) deeper() bool {
	if p.parts++; p.parts > MaxParts {
		p.fail("limit", "the expression is nested more than "+strconv.Itoa(MaxParts)+" deep")
		return false
	}
	return true
}

// binary reads operations that bind at least as tightly as level; comparisons do not chain.
func (p *parser) binary(level int) *Expr {
	if level == 3 {
		if p.is(word, "not") && p.deeper() {
			p.next()
			e := p.binary(3)
			p.parts--
			return p.node("not", "", e)
		}
		level++
	}
	if level > 6 {
		return p.unary()
	}
	left := p.binary(level + 1)
	for (p.tok.kind == symbol || p.tok.kind == word) && rank(p.tok.text) == level && p.tok.text != "not" {
		op := p.tok.text
		p.next()
		left = p.node(op, "", left, p.binary(level+1))
		if level == 4 {
			if contains(comparisons, p.tok.text) && p.tok.kind == symbol {
				p.fail("syntax", "comparisons do not chain; join them with and")
			}
			break
		}
	}
	return left
}

func (p *parser) unary() *Expr {
	if p.is(symbol, "-") && p.deeper() {
		p.next()
		e := p.unary()
		p.parts--
		return p.node("neg", "", e)
	}
	return p.primary()
}

func (p *parser) primary() *Expr {
	t := p.tok
	switch {
	case t.kind == number:
		p.next()
		return p.node("number", t.text)
	case p.is(symbol, "(") && p.deeper():
		p.next()
		e := p.binary(1)
		p.parts--
		p.need(")", "close the parenthesis")
		return e
	case t.kind == word && contains([]string{"abs", "min", "max", "mean"}, t.text) && p.deeper():
		p.next()
		p.need("(", t.text+"(…)")
		args := []*Expr{p.binary(1)}
		for p.take(",") {
			args = append(args, p.binary(1))
		}
		p.need(")", t.text+"(…)")
		p.parts--
		if t.text == "abs" && len(args) != 1 {
			p.fail("syntax", "abs takes one value")
		}
		return p.node(t.text, "", args...)
	case t.kind == word && isName(t.text):
		p.next()
		return p.node("name", t.text)
	}
	p.fail("syntax", "here a number, a name or a parenthesis is expected, not "+p.found())
	return &Expr{Op: "number", Text: "0"}
}

// String returns the canonical text: single spaces, no parenthesis that changes nothing.
func (e *Expr) String() string { return string(e.append(nil)) }

func (e *Expr) append(b []byte) []byte {
	inner := func(x *Expr, least int) {
		if rank(x.Op) < least {
			b = append(b, '(')
			b = append(x.append(b), ')')
			return
		}
		b = x.append(b)
	}
	r := rank(e.Op)
	switch e.Op {
	case "number", "name":
		return append(b, e.Text...)
	case "not":
		b = append(b, "not "...)
		inner(e.Args[0], r)
	case "neg":
		b = append(b, '-')
		inner(e.Args[0], r)
	case "abs", "min", "max", "mean":
		b = append(append(b, e.Op...), '(')
		for i, x := range e.Args {
			if i > 0 {
				b = append(b, ", "...)
			}
			b = x.append(b)
		}
		b = append(b, ')')
	default:
		least := r
		if r == 4 {
			least = 5
		}
		inner(e.Args[0], least)
		b = append(append(append(b, ' '), e.Op...), ' ')
		inner(e.Args[1], r+1)
	}
	return b
}

// Eval returns the value of an expression; yes is 1 and no is 0.
//
// Takes:   a function that gives the value of a name, if it has one.
// Refuses: Fault undecidable for a name without a value and for a division by zero, not_finite for a result beyond float64.
func (e *Expr) Eval(value func(name string) (float64, bool)) (float64, error) {
	switch e.Op {
	case "number":
		x, err := strconv.ParseFloat(e.Text, 64)
		if err != nil {
			return 0, document.Refuse(document.CodeNotFinite, "", "the number "+e.Text+" is too large")
		}
		return x, nil
	case "name":
		if x, ok := value(e.Text); ok {
			return x, nil
		}
		return 0, document.Refuse(document.CodeUndecidable, "", e.Text+" has no value yet")
	}
	args := make([]float64, len(e.Args))
	for i, a := range e.Args {
		x, err := a.Eval(value)
		if err != nil {
			return 0, err
		}
		if i == 0 && (e.Op == "and" && x == 0 || e.Op == "or" && x != 0) {
			return x, nil // the second is not looked at, so that "n != 0 and a/n > 2" has a value
		}
		args[i] = x
	}
	x, err := apply(e.Op, args)
	if err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
		err = document.Refuse(document.CodeNotFinite, "", "the value of "+e.String()+" is not a finite number")
	}
	if err != nil {
		return 0, err
	}
	return x, nil
}

func apply(op string, a []float64) (float64, error) {
	switch op {
	case "+":
		return a[0] + a[1], nil
	case "-":
		return a[0] - a[1], nil
	case "*":
		return float64(a[0] * a[1]), nil
	case "/":
		if a[1] == 0 {
			return 0, document.Refuse(document.CodeUndecidable, "", "division by zero")
		}
		return a[0] / a[1], nil
	case "neg":
		return -a[0], nil
	case "abs":
		return math.Abs(a[0]), nil
	case "mean":
		return numeric.Mean(a), nil
	case "min", "max":
		best := a[0]
		for _, x := range a[1:] {
			if x < best == (op == "min") {
				best = x
			}
		}
		return best, nil
	}
	yes := false
	switch op {
	case "<":
		yes = a[0] < a[1]
	case "<=":
		yes = a[0] <= a[1]
	case ">":
		yes = a[0] > a[1]
	case ">=":
		yes = a[0] >= a[1]
	case "=":
		yes = a[0] == a[1]
	case "!=":
		yes = a[0] != a[1]
	case "not":
		yes = a[0] == 0
	case "and", "or":
		yes = a[1] != 0
	}
	if yes {
		return 1, nil
	}
	return 0, nil
}
