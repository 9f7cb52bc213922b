package work

import (
	"math"

	"gaugewright/calc/document"
)

// Preview is the calculation preview: {method, instrument} of any kind of work → the plan as expand
// gives it, with the number of values that it asks for and its duration in minutes, rounded up.
func (kinds Kinds) Preview(in *document.Reader, out *document.Writer) error {
	p, err := kinds.expand(in, out)
	if err != nil {
		return err
	}
	out.Whole("readings", p.Readings)
	out.Whole("minutes", int(math.Ceil(p.Seconds/60)))
	return nil
}
