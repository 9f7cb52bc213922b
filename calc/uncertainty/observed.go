package uncertainty

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Observed is the result of repeated observations of one quantity.
type Observed struct {
	Mean, S, U float64 // U: standard uncertainty of the mean
	DOF        float64
}

// Observe returns mean and standard deviations of repeated observations.
//
//	s² = Σ(q − q̄)²/(n − 1);  u = s/√n;  n − 1 degrees of freedom
//
// Takes:   at least two values.
// Source:  GUM (JCGM 100:2008) 4.2.
func Observe(values []float64) Observed {
	s := numeric.StdDev(values)
	n := float64(len(values))
	return Observed{numeric.Mean(values), s, s / math.Sqrt(n), n - 1}
}

// Together returns the correlation of the means of two quantities observed together; 0 if one of
// them did not vary.
//
//	r = Σ(q − q̄)(p − p̄)/√(Σ(q − q̄)² Σ(p − p̄)²)
//
// Takes:   two lists of equal length, at least two.
// Source:  GUM (JCGM 100:2008) 5.2.3 and H.2.
func Together(q, p []float64) float64 {
	mq, mp := numeric.Mean(q), numeric.Mean(p)
	qq, pp, qp := make([]float64, len(q)), make([]float64, len(q)), make([]float64, len(q))
	for i := range q {
		a, b := q[i]-mq, p[i]-mp
		qq[i], pp[i], qp[i] = float64(a*a), float64(b*b), float64(a*b)
	}
	d := math.Sqrt(float64(numeric.Sum(qq) * numeric.Sum(pp)))
	if d == 0 {
		return 0
	}
	return max(-1, min(1, numeric.Sum(qp)/d))
}

// calculateObservations is the calculation observations: {series: [{name, values}]} → {series:
// [{name, n, mean, s, u, dof}], correlations: [{a, b, r}]}.
func calculateObservations(in *document.Reader, out *document.Writer) error {
	type series struct {
		name   string
		values []float64
	}
	var list []series
	for i, one := range in.List("series") {
		list = append(list, series{one.Text("name"), one.Numbers("values")})
		switch n := len(list[i].values); {
		case in.Err() != nil:
		case n < 2 || n > 10000:
			one.Fail(document.CodeShape, "values", "from 2 to 10000 observations are needed")
		case n != len(list[0].values):
			one.Fail(document.CodeShape, "values", "quantities observed together have equally many observations")
		}
		for j := range i {
			if in.Err() == nil && list[j].name == list[i].name {
				one.Fail(document.CodeConflict, "name", document.Quote(list[i].name)+" is given twice")
			}
		}
	}
	if in.Err() == nil && (len(list) == 0 || len(list) > 50) {
		in.Fail(document.CodeShape, "series", "from 1 to 50 quantities are needed")
	}
	if err := in.Err(); err != nil {
		return err
	}
	out.BeginList("series")
	for _, s := range list {
		o := Observe(s.values)
		out.Begin()
		out.Text("name", s.name)
		out.Whole("n", len(s.values))
		out.Number("mean", o.Mean)
		out.Number("s", o.S)
		out.Number("u", o.U)
		out.Number("dof", o.DOF)
		out.End()
	}
	out.EndList()
	out.BeginList("correlations")
	for i := range list {
		for j := range i {
			out.Begin()
			out.Text("a", list[j].name)
			out.Text("b", list[i].name)
			out.Number("r", Together(list[j].values, list[i].values))
			out.End()
		}
	}
	out.EndList()
	return nil
}
