package programme

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Expr is an expression. Op is "number" or "name" with the Text, or an operation: + - * / neg, < <=
// > >= = !=, and or not, abs min max mean.
type Expr struct {
	Op   string
	Text string
	Args []*Expr

	rank    uint8   // of Op
	wanted  gives   // for a name: the type that its place needs
	odd     bool    // for a whole expression: a part has the wrong type for its place, whatever the names hold
	divides bool    // for a whole expression: it has a division
	names   []*Expr // for a whole expression: its uses of names
}

// Precedence of operations.
const (
	rankOr uint8 = iota + 1
	rankAnd
	rankNot
	rankCompare
	rankSum
	rankProduct
	rankNeg
	rankFunction
	rankNumber
	rankName
)

// rank returns the precedence of an operation.
func rank(op string) uint8 {
	switch op[0] {
	case '<', '>', '=', '!':
		return rankCompare
	case '+', '-':
		return rankSum
	case '*', '/':
		return rankProduct
	}
	switch op {
	case "or":
		return rankOr
	case "and":
		return rankAnd
	case "not":
		return rankNot
	case "neg":
		return rankNeg
	case "number":
		return rankNumber
	case "name":
		return rankName
	}
	return rankFunction
}

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
	start := len(p.refs)
	p.odd, p.divides = false, false
	e := p.binary(1)
	p.want(e, givesYesNo) // a whole expression is a condition
	e.names, e.odd, e.divides = p.refs[start:len(p.refs):len(p.refs)], p.odd, p.divides
	return e
}

// want notes the type that a part's place needs.
func (p *parser) want(e *Expr, wanted gives) {
	if e.rank == rankName {
		e.wanted = wanted
	} else if e.gives() != wanted {
		p.odd = true
	}
}

// gives is the type of an expression.
type gives uint8

const (
	givesFault gives = iota // a fault inside was reported already
	givesNumber
	givesYesNo
)

// gives returns the type of an expression other than a name.
func (e *Expr) gives() gives {
	if e.rank <= rankCompare {
		return givesYesNo
	}
	return givesNumber
}

// takes returns the type that the parts of an operation need.
func (e *Expr) takes() gives {
	if e.rank < rankCompare {
		return givesYesNo
	}
	return givesNumber
}

func (p *parser) node(op, text string, args ...*Expr) *Expr {
	if p.terms++; p.terms > MaxTerms {
		p.fail("limit", "the expression has more than "+strconv.Itoa(MaxTerms)+" terms")
	}
	const chunk = 64
	if len(p.nodes) == cap(p.nodes) {
		p.nodes = make([]Expr, 0, chunk)
	}
	p.nodes = p.nodes[:len(p.nodes)+1]
	e := &p.nodes[len(p.nodes)-1]
	if len(args) > 0 {
		if len(p.inner) < len(args) {
			p.inner = make([]*Expr, chunk+len(args))
		}
		e.Args, p.inner = p.inner[:len(args):len(args)], p.inner[len(args):]
	}
	e.Op, e.Text, e.rank = op, text, rank(op)
	for i, a := range args {
		e.Args[i] = a
		p.want(a, e.takes())
	}
	switch {
	case e.rank == rankName:
		p.refs = append(p.refs, e)
	case op == "/":
		p.divides = true
	}
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
func (p *parser) binary(level uint8) *Expr {
	var left *Expr
	if level <= rankNot && p.is(word, "not") && p.deeper() {
		p.next()
		e := p.binary(rankNot)
		p.parts--
		left = p.node("not", "", e)
	} else {
		left = p.unary()
	}
	for p.tok.kind == symbol || p.tok.kind == word {
		op := p.tok.text
		r := rank(op)
		if r < level || r > rankProduct || r == rankNot {
			break
		}
		p.next()
		left = p.node(op, "", left, p.binary(r+1))
		if r == rankCompare && p.tok.kind == symbol && rank(p.tok.text) == rankCompare {
			p.fail("syntax", "comparisons do not chain; join them with and")
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
	case t.kind == word && isFunction(t.text) && p.deeper():
		p.next()
		if !p.is(symbol, "(") {
			p.need("(", t.text+"(…)")
		}
		p.next()
		args := []*Expr{p.binary(1)}
		for p.take(",") {
			args = append(args, p.binary(1))
		}
		if !p.take(")") {
			p.need(")", t.text+"(…)")
		}
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
	return &Expr{Op: "number", Text: "0", rank: rankNumber}
}

func isFunction(s string) bool {
	switch s {
	case "abs", "min", "max", "mean":
		return true
	}
	return false
}

// String returns the canonical text: single spaces, no parenthesis that changes nothing.
func (e *Expr) String() string { return string(e.append(nil)) }

func (e *Expr) append(b []byte) []byte {
	inner := func(x *Expr, least uint8) {
		if x.rank < least {
			b = append(b, '(')
			b = append(x.append(b), ')')
			return
		}
		b = x.append(b)
	}
	r := e.rank
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
		if r == rankCompare {
			least = rankSum
		}
		inner(e.Args[0], least)
		b = append(append(append(b, ' '), e.Op...), ' ')
		inner(e.Args[1], r+1)
	}
	return b
}

// Eval returns the value of an expression; yes is 1 and no is 0.
//
// Takes:   a function that returns the value of a name, if it has one.
// Refuses: Fault undecidable for a name without a value and for a division by zero, not_finite for
// a result beyond float64.
func (e *Expr) Eval(value func(name string) (float64, bool)) (float64, error) {
	switch e.Op {
	case "number":
		x, ok := document.Float(e.Text)
		if !ok {
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
			return x, nil // the second is not evaluated, so that "n != 0 and a/n > 2" has a value
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
