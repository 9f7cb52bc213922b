package programme

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Values returns the value of a name, if it has one; yes is 1 and no is 0.
type Values func(name string) (numeric.Exact, bool)

// Decide returns the value of an expression without rounding, so that decimals compare as written.
//
// Refuses: Fault undecidable for a name without a value and for a division by zero.
func (e *Expr) Decide(value Values) (numeric.Exact, error) {
	var none numeric.Exact
	switch e.Op {
	case "number":
		x, ok := numeric.ParseExact(e.Text)
		if !ok {
			return none, document.Refuse(document.CodeNotFinite, "", "the number "+e.Text+" is too large")
		}
		return x, nil
	case "name":
		if x, ok := value(e.Text); ok {
			return x, nil
		}
		return none, document.Refuse(document.CodeUndecidable, "", e.Text+" has no value yet")
	}
	args := make([]numeric.Exact, len(e.Args))
	for i, a := range e.Args {
		x, err := a.Decide(value)
		if err != nil {
			return none, err
		}
		if i == 0 && (e.Op == "and" && x.Sign() == 0 || e.Op == "or" && x.Sign() != 0) {
			return x, nil
		}
		args[i] = x
	}
	return decide(e, args)
}

func decide(e *Expr, a []numeric.Exact) (numeric.Exact, error) {
	switch e.Op {
	case "+":
		return a[0].Add(a[1]), nil
	case "-":
		return a[0].Sub(a[1]), nil
	case "*":
		return a[0].Mul(a[1]), nil
	case "/":
		x, ok := a[0].Div(a[1])
		if !ok {
			return x, document.Refuse(document.CodeUndecidable, "", short(e.String())+" divides by zero")
		}
		return x, nil
	case "neg":
		return a[0].Neg(), nil
	case "abs":
		return a[0].Abs(), nil
	case "mean":
		return mean(a), nil
	case "min", "max":
		best := a[0]
		for _, x := range a[1:] {
			if x.Cmp(best) < 0 == (e.Op == "min") {
				best = x
			}
		}
		return best, nil
	case "not":
		return yes(a[0].Sign() == 0), nil
	case "and", "or":
		return yes(a[1].Sign() != 0), nil
	}
	return yes(compares(e.Op, a[0].Cmp(a[1]))), nil
}

func compares(op string, order int) bool {
	switch op {
	case "<":
		return order < 0
	case "<=":
		return order <= 0
	case ">":
		return order > 0
	case ">=":
		return order >= 0
	case "=":
		return order == 0
	}
	return order != 0
}

func mean(a []numeric.Exact) numeric.Exact {
	sum := numeric.ExactInt(0)
	for _, x := range a {
		sum = sum.Add(x)
	}
	x, _ := sum.Div(numeric.ExactInt(len(a)))
	return x
}

func yes(b bool) numeric.Exact {
	if b {
		return numeric.ExactInt(1)
	}
	return numeric.ExactInt(0)
}

// spoken returns a comparison in words. If it does not hold, Explain puts "not" after the "is".
func spoken(op string) string {
	switch op {
	case "<":
		return "below"
	case "<=":
		return "at most"
	case ">":
		return "above"
	case ">=":
		return "at least"
	}
	return "equal to"
}

// Explain says in words why a condition holds or does not, with the values that decide it, such as
// "p2 - p1 = 0.3 is not below 0.2".
//
// Refuses: as Decide.
func (e *Expr) Explain(value Values) (why string, holds bool, err error) {
	x, err := e.Decide(value)
	if err != nil {
		return "", false, err
	}
	holds = x.Sign() != 0
	switch e.Op {
	case "not":
		why, _, err = e.Args[0].Explain(value)
		return why, holds, err
	case "and", "or":
		first, one, err := e.Args[0].Explain(value)
		if err != nil || one == (e.Op == "or") {
			return first, holds, err // the first part decides alone
		}
		second, other, err := e.Args[1].Explain(value)
		if err != nil || other == (e.Op == "or") {
			return second, holds, err
		}
		return first + ", and " + second, holds, nil
	case "name":
		return e.Text + " is " + yesOrNo(holds), holds, nil
	}
	if e.rank != rankCompare {
		return e.String() + " = " + readable(x), holds, nil
	}
	left, err := e.Args[0].Decide(value)
	if err != nil {
		return "", false, err
	}
	right, err := e.Args[1].Decide(value)
	if err != nil {
		return "", false, err
	}
	says := holds
	if e.Op == "!=" {
		says = !holds
	}
	is := " is "
	if !says {
		is = " is not "
	}
	return named(e.Args[0], left) + is + spoken(e.Op) + " " + named(e.Args[1], right), holds, nil
}

func yesOrNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func named(e *Expr, x numeric.Exact) string {
	if e.Op == "number" || e.Op == "neg" && e.Args[0].Op == "number" {
		return e.String()
	}
	return e.String() + " = " + readable(x)
}

// readable formats a value in full if it is a short decimal, else to nine digits.
func readable(x numeric.Exact) string {
	if s, whole := x.Text(12); whole && len(s) < 20 {
		return s
	}
	return shown(numeric.RoundSignificant(x.Float(), 9))
}
