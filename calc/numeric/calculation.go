package numeric

import (
	"math"

	"gaugewright/calc/document"
)

// Calculations returns the calculation quantile.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "quantile", Call: calculateQuantile}}
}

func calculateQuantile(in *document.Reader, out *document.Writer) error {
	distribution := in.Choice("distribution", "t", "normal")
	p := in.Number("p")
	if in.Err() == nil && !(p > 0 && p < 1) {
		in.Fail(document.CodeRange, "p", "must be above 0 and below 1")
	}
	var x float64
	if distribution == "t" {
		dof := in.Positive("dof")
		if in.Err() == nil {
			x = StudentTQuantile(p, dof)
		}
	} else if in.Err() == nil {
		if in.Has("dof") {
			in.Fail(document.CodeConflict, "dof", "the normal distribution has no degrees of freedom")
		}
		x = NormalQuantile(p)
	}
	if err := in.Err(); err != nil {
		return err
	}
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return document.Refuse(document.CodeNotFinite, "dof", "the quantile is too large for these degrees of freedom")
	}
	out.Number("value", x)
	return nil
}
