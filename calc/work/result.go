package work

import "gaugewright/calc/document"

// Result is one figure of a finding with its limits, the form of every kind of work except the
// gauge's tables.
type Result struct {
	Name           string // in words of the trade, such as "rate, vacuum"
	Value          float64
	Unit           string
	Low, High      float64
	HasLow         bool
	HasHigh        bool
	Expanded       float64 // expanded uncertainty, 0 if it has none
	Verdict        string  // "" for a figure that is only reported
	Reason, Source string  // where its limit comes from
	Condition      string  // for a condition, which has no limits: whether it holds
	U, K, DOF      float64 // standard uncertainty, coverage factor and effective degrees of freedom; 0 if unknown
	Budget         []BudgetPart
}

// BudgetPart is one term of a figure's uncertainty, as a standard uncertainty in the figure's unit.
type BudgetPart struct {
	Term string
	U    float64
}

// WriteResults writes the figures of a finding.
func WriteResults(out *document.Writer, list []Result) {
	out.BeginList("results")
	for i := range list {
		r := &list[i]
		out.Begin()
		out.Text("name", r.Name)
		out.Number("value", r.Value)
		out.Text("unit", r.Unit)
		if r.HasLow {
			out.Number("limit_low", r.Low)
		}
		if r.HasHigh {
			out.Number("limit_high", r.High)
		}
		if r.Expanded > 0 {
			out.Number("expanded", r.Expanded)
		}
		r.writeUncertainty(out)
		for _, f := range [...][2]string{{"condition", r.Condition}, {"verdict", r.Verdict}, {"reason", r.Reason}, {"source", r.Source}} {
			if f[1] != "" {
				out.Text(f[0], f[1])
			}
		}
		out.End()
	}
	out.EndList()
}

// writeUncertainty writes the parts of an expanded uncertainty.
func (r *Result) writeUncertainty(out *document.Writer) {
	for _, f := range [...]struct {
		name string
		x    float64
	}{{"u", r.U}, {"k", r.K}, {"dof", r.DOF}} {
		if f.x > 0 {
			out.Number(f.name, f.x)
		}
	}
	if len(r.Budget) == 0 {
		return
	}
	out.BeginList("budget")
	for _, b := range r.Budget {
		out.Begin()
		out.Text("term", b.Term)
		out.Number("contribution", b.U)
		out.End()
	}
	out.EndList()
}
