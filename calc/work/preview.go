package work

import (
	"math"

	"gaugewright/calc/document"
)

// Preview is the calculation preview: {method, instrument} of any kind of work → the plan as expand
// gives it, with how many values it asks for and how many minutes it takes. A minute that has begun
// counts.
func (kinds Kinds) Preview(in *document.Reader, out *document.Writer) error {
	p, err := kinds.expand(in, out)
	if err != nil {
		return err
	}
	out.Whole("readings", p.Readings)
	out.Whole("minutes", int(math.Ceil(p.Seconds/60)))
	return nil
}
