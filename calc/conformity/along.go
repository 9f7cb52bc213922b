package conformity

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Stretch is an interval of values with one verdict.
type Stretch struct {
	Verdict  string
	From, To float64
}

// Course is the verdicts and probabilities between two values.
type Course struct {
	Stretches     []Stretch
	Values        []float64
	Probabilities []float64
}

const (
	// alongSteps is the number of equal steps at which the rule is asked.
	alongSteps = 80
	// halvings narrows a border down to a millionth of a millionth of a step.
	halvings = 40
)

// Along asks a rule in equal steps from one value to a higher one, and finds each border between
// two verdicts by bisection. It may miss a stretch shorter than a step.
//
// Takes:   the ends, from < to; decide, the rule with its limits.
// Gives:   the stretches, which follow each other without a gap; and the probabilities of conformity.
func Along(from, to float64, decide func(x numeric.Exact) Decided) Course {
	var c Course
	at := func(x float64) Decided {
		e, _ := numeric.ExactOf(x)
		return decide(e)
	}
	before, last := from, at(from)
	c.Stretches = []Stretch{{Verdict: last.Verdict, From: from, To: to}}
	c.Values, c.Probabilities = []float64{from}, []float64{last.Probability}
	for i := 1; i <= alongSteps; i++ {
		x := from + float64(float64((to-from)*float64(i))/alongSteps)
		next := at(x)
		if next.Verdict != last.Verdict {
			low, high := before, x // if a step has two borders, one is found
			for range halvings {
				middle := low + float64((high-low)/2)
				if at(middle).Verdict == last.Verdict {
					low = middle
				} else {
					high = middle
				}
			}
			c.Stretches[len(c.Stretches)-1].To = high
			c.Stretches = append(c.Stretches, Stretch{Verdict: next.Verdict, From: high, To: to})
		}
		c.Values, c.Probabilities = append(c.Values, x), append(c.Probabilities, next.Probability)
		before, last = x, next
	}
	return c
}

func writeCourse(out *document.Writer, c Course) {
	out.BeginList("stretches")
	for _, s := range c.Stretches {
		out.Begin()
		out.Text("verdict", s.Verdict)
		out.Number("from", s.From)
		out.Number("to", s.To)
		out.End()
	}
	out.EndList()
	out.BeginList("course")
	for i, x := range c.Values {
		out.Begin()
		out.Number("value", x)
		out.Number("probability", c.Probabilities[i])
		out.End()
	}
	out.EndList()
}
