package conformity

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Calculations returns the calculations conformity and risk.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "conformity", Call: calculateConformity},
		{Name: "risk", Call: calculateRisk},
	}
}

// calculateConformity is the calculation conformity: a value with its uncertainty, its limits and a
// decision rule → the verdict and the risk. With until it also gives the verdicts from the value up
// to there.
//
// Takes:   {value, u, rule, low?, high?, k?, guard_factor?, min_probability?, dof?, until?}.
// Gives:   {verdict, probability, guard, …, stretches?: [{verdict, from, to}], course?: [{value,
// probability}]}: each stretch of one verdict, and 81 values in equal steps.
func calculateConformity(in *document.Reader, out *document.Writer) error {
	value, hasValue := decimal(in, "value")
	u, hasU := decimal(in, "u")
	k, hasK := decimal(in, "k")
	var l Limits
	l.Low, l.HasLow = decimal(in, "low")
	l.High, l.HasHigh = decimal(in, "high")
	rule := Rule(
		in.Choice("rule", string(Simple), string(Guarded), string(GuardedFour), string(Managed), string(Probability)),
	)
	factor, hasFactor := decimal(in, "guard_factor")
	least, hasLeast := in.Optional("min_probability")
	dof, hasDOF := in.Optional("dof")
	until, hasUntil := in.Optional("until")
	guarded := rule == Guarded || rule == GuardedFour
	switch {
	case in.Err() != nil:
	case !hasValue:
		in.Fail(document.CodeMissing, "value", "this field is missing")
	case !hasU:
		in.Fail(document.CodeMissing, "u", "a verdict needs the uncertainty, also where the rule does not use it")
	case u.Sign() < 0:
		in.Fail(document.CodeRange, "u", "must not be below zero")
	case u.Sign() == 0 && rule != Simple:
		in.Fail(document.CodeRange, "u", "an uncertainty of zero makes no sense of a rule that rests on it")
	case !l.HasLow && !l.HasHigh:
		in.Fail(document.CodeMissing, "high", "at least one limit is needed")
	case l.HasLow && l.HasHigh && l.Low.Cmp(l.High) > 0:
		in.Fail(document.CodeRange, "low", "must not lie above high")
	case rule == Managed && (!l.HasLow || !l.HasHigh || l.Low.Cmp(l.High) == 0):
		in.Fail(document.CodeMissing, "low", "the managed guard band needs two different limits")
	case hasFactor && !guarded:
		in.Fail(document.CodeConflict, "guard_factor", "belongs to the guarded rules")
	case hasFactor && (factor.Cmp(numeric.ExactInt(-1)) < 0 || factor.Cmp(numeric.ExactInt(5)) > 0):
		in.Fail(document.CodeRange, "guard_factor", "must be from -1 to 5")
	case hasUntil && !(until > value.Float()):
		in.Fail(document.CodeRange, "until", "must lie above the value")
	case hasK && k.Sign() <= 0:
		in.Fail(document.CodeRange, "k", "must be above zero")
	case hasDOF && !(dof >= 1):
		in.Fail(document.CodeRange, "dof", "must be 1 or more; leave it out where the uncertainty is well known")
	case hasLeast && rule != Probability:
		in.Fail(document.CodeConflict, "min_probability", "belongs to the rule probability")
	case hasLeast && !(least >= 0.5 && least < 1):
		in.Fail(document.CodeRange, "min_probability", "must be from 0.5 to below 1")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if !hasK {
		k = numeric.ExactInt(2)
	}
	if !hasFactor {
		factor = numeric.ExactInt(1)
	}
	if !hasLeast {
		least = 0.95
	}
	decide := func(x numeric.Exact) Decided { return Decide(x, u, k, factor, l, rule, least, dof) }
	d := decide(value)
	out.Text("verdict", d.Verdict)
	if d.Reason != "" {
		out.Text("reason", d.Reason)
	}
	out.Number("probability", d.Probability)
	out.Number("guard", d.Guard)
	if d.HasZone && l.HasLow {
		out.Number("acceptance_low", d.Acceptance.Low.Float())
	}
	if d.HasZone && l.HasHigh {
		out.Number("acceptance_high", d.Acceptance.High.Float())
	}
	out.Number("risk_of_wrong_acceptance", d.Risk)
	out.BeginList("warnings")
	if u.Sign() == 0 {
		out.Warn("no_uncertainty", "u", "the verdict is given without an uncertainty")
	}
	out.EndList()
	if hasUntil {
		writeCourse(out, Along(value.Float(), until, decide))
	}
	return nil
}

func calculateRisk(in *document.Reader, out *document.Writer) error {
	ratio, share := in.Positive("ratio"), in.Number("in_tolerance")
	factor, hasFactor := in.Optional("guard_factor")
	managed := in.TextOr("rule", "")
	switch {
	case in.Err() != nil:
	case ratio < 0.1 || ratio > 1000:
		in.Fail(document.CodeRange, "ratio", "must be from 0.1 to 1000")
	case !(share > 0.01 && share < 0.999999):
		in.Fail(document.CodeRange, "in_tolerance", "must be between 0.01 and 0.999999")
	case managed != "" && managed != string(Managed):
		in.Fail(document.CodeRange, "rule", "only managed may be named here; else give a guard factor")
	case managed != "" && hasFactor:
		in.Fail(document.CodeConflict, "guard_factor", "give the rule or the factor, not both")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if managed != "" {
		factor = ManagedGuard(ratio)
	}
	acceptance := 1 - factor/ratio
	if !(acceptance > 0) {
		return document.Refuse(document.CodeUndecidable, "guard_factor", "the guard band leaves no acceptance zone")
	}
	g := Risks(ratio, share, acceptance)
	out.Number("false_accept", g.FalseAccept)
	out.Number("false_reject", g.FalseReject)
	out.Number("acceptance_fraction", g.Acceptance)
	return nil
}
