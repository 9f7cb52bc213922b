package history

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Interval returns the months after which a target share of the instruments is still in tolerance,
// if the share decays exponentially.
//
//	t · ln(target)/ln(observed)
//
// Takes:   the present interval in months; observed and target shares between 0 and 1.
// Gives:   months.
// Source:  exponential reliability, R(t) = exp(−λt): method of NCSLI RP-1 (formula from memory).
func Interval(months, observed, target float64) float64 {
	return months * numeric.Log(target) / numeric.Log(observed)
}

// Step returns what the staircase method does to the interval after one calibration.
//
// Takes:   the error found as a fraction of its limit, and the fraction up to which to extend, as
// exact decimals.
// Gives:   "extend" up to that fraction, "reduce" beyond the limit, else "keep".
// Source:  ILAC-G24:2007 section 3 (restated): extend if found within 80 % of the limit, reduce if
// outside.
func Step(found, extend numeric.Exact) string {
	switch {
	case found.Abs().Cmp(numeric.ExactInt(1)) > 0:
		return "reduce"
	case found.Abs().Cmp(extend) <= 0:
		return "extend"
	}
	return "keep"
}

// mostAsked is the longest interval accepted as input, in months.
const mostAsked = 240

// daysPerMonth is a twelfth of a Gregorian year of 365.2425 days.
const daysPerMonth = 365.2425 / 12

// spare is the part of an interval that must be safe beyond it before a longer one is advised.
// Chosen here: half an interval.
const spare = 0.5

// Calculations returns the calculations interval, drift and due.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "interval", Call: calculate}, {Name: "drift", Call: calculateDrift}, {Name: "due", Call: calculateDue},
	}
}

func calculate(in *document.Reader, out *document.Writer) error {
	if found, ok := in.OptionalDecimal("found_fraction"); ok {
		extend, given := in.OptionalDecimal("extend_below")
		if !given {
			extend.Text = "0.8"
		}
		if err := in.Err(); err != nil {
			return err
		}
		f, good1 := numeric.ParseExact(found.Text)
		e, good2 := numeric.ParseExact(extend.Text)
		if !good1 || !good2 {
			return document.Refuse(document.CodeRange, "found_fraction", "is too long to be compared exactly")
		}
		if months, given := in.Optional("months"); given {
			return adviseByLast(in, out, f, months)
		}
		out.Text("action", Step(f, e))
		return nil
	}
	months := in.Positive("months")
	target := in.Number("target")
	if in.Err() == nil && !(target > 0 && target < 1) {
		in.Fail(document.CodeRange, "target", "must be between 0 and 1")
	}
	observed, direct := in.Optional("observed")
	counted := in.Has("passed") || in.Has("of")
	switch {
	case in.Err() != nil:
	case direct && counted:
		in.Fail(document.CodeConflict, "observed", "give the share or the counts, not both")
	case direct && !(observed > 0 && observed < 1):
		in.Fail(document.CodeRange, "observed", "must be between 0 and 1; with no failure seen, give the counts")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if direct {
		out.Number("months", Interval(months, observed, target))
		out.BeginList("warnings")
		long(out, Interval(months, observed, target), months)
		out.EndList()
		return nil
	}
	of := in.Whole("of", 1, 100000)
	passed := in.Whole("passed", 0, 100000)
	if in.Err() == nil && passed > of {
		in.Fail(document.CodeRange, "passed", "must not be above of")
	}
	if err := in.Err(); err != nil {
		return err
	}
	if passed == 0 {
		return document.Refuse(
			document.CodeUndecidable, "passed",
			"nothing passed: no interval can be said, the method or the instrument is wrong",
		)
	}
	low, high := numeric.ClopperPearson(passed, of, 0.95)
	oneSided, _ := numeric.ClopperPearson(passed, of, 0.90) // the lower end of the two-sided 90 % interval is one-sided 95 %
	observed = float64(passed) / float64(of)
	if passed == of {
		observed = oneSided
	}
	next := Interval(months, observed, target)
	out.Number("months", next)
	out.Number("observed_low", low)
	out.Number("observed_high", high)
	out.Number("observed_low_one_sided", oneSided)
	out.BeginList("warnings")
	if passed == of {
		out.Warn("no_failure", "passed", "no failure was seen: the lower 95 % bound of the share stands in for it")
	}
	long(out, next, months)
	if of < 20 {
		out.Warn("few", "of", "a share of so few calibrations says little; look at its bounds")
	}
	out.EndList()
	return nil
}

// adviseByLast gives the advice if nothing but the latest error is known.
func adviseByLast(in *document.Reader, out *document.Writer, found numeric.Exact, months float64) error {
	if in.Err() == nil && !(months > 0 && months <= mostAsked) {
		in.Fail(document.CodeRange, "months", "must be above 0 and at most 240")
	}
	if err := in.Err(); err != nil {
		return err
	}
	a := Advise(Evidence{Months: months, Found: found.Abs().Float()})
	out.Text("action", a.Action)
	out.Text("reason", a.Reason)
	out.Number("months", float64(a.Months))
	return nil
}

// long warns of a long jump: no result supports the model far beyond the present interval.
func long(out *document.Writer, next, months float64) {
	if next > float64(2*months) {
		out.Warn("long", "months", "more than twice the present interval: go there in steps")
	}
}
