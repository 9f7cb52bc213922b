package airdata

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// The tests of an altimeter.
const (
	TestScale          = "scale"
	TestHysteresis     = "hysteresis"
	TestAfterEffect    = "after-effect"
	TestFriction       = "friction"
	TestCaseLeak       = "case-leak"
	TestBarometric     = "barometric"
	TestCorrespondence = "correspondence"
	TestSeparation     = "rvsm"
)

// Verdicts.
const (
	Pass = "pass"
	Fail = "fail"
)

// Warning codes of this package.
const (
	WarnMemory  = "limit_from_memory" // compare the limit with the rule's text before it is printed
	WarnPoint   = "test_point"        // the test was made at another point than the rule's
	WarnMinutes = "minutes"           // the test did not last the rule's one minute
	WarnRise    = "rise"              // the reading moved against the direction of a leak
)

type warning struct{ code, field, message string }

var memory = warning{
	WarnMemory, "tolerance_ft",
	"this limit is known from memory; check it against the current rule before it goes on a certificate",
}

// judged is the outcome of one test.
type judged struct {
	err, tolerance numeric.Exact
	extra          []named
	warnings       []warning
	fails          bool // fails for a reason other than the tolerance
}

type named struct {
	name  string
	value float64
}

// altimeterTest reads the inputs of one test and judges it; numbers are compared as the decimals
// written in the document.
func altimeterTest(test string, in *document.Reader) judged {
	var j judged
	switch test {
	case TestScale:
		j = scaleTest(in)
	case TestHysteresis:
		j = hysteresisTest(in)
	case TestAfterEffect:
		j.err = exact(in, "after_ft").Sub(exact(in, "original_ft")).Sub(exactOr(in, "ambient_change_ft"))
		j.tolerance = numeric.ExactInt(afterEffectFeet)
	case TestFriction:
		at := in.Number("altitude_ft")
		limit, listed := Friction(at)
		j.err = exact(in, "after_ft").Sub(exact(in, "before_ft"))
		j.tolerance = tolerance(
			in, limit, listed,
			"table III lists no limit at this altitude; take a listed altitude or give tolerance_ft",
		)
	case TestCaseLeak:
		j = caseLeakTest(in)
	case TestBarometric:
		j = barometricTest(in)
	case TestCorrespondence:
		j.err = exact(in, "reported_ft").Sub(exact(in, "displayed_ft"))
		j.tolerance = numeric.ExactInt(correspondenceFeet)
		j.warnings = append(j.warnings, memory)
	case TestSeparation:
		j = separationTest(in)
	}
	return j
}

// scaleTest compares the reading with the altitude of the pressure at the instrument.
func scaleTest(in *document.Reader) judged {
	at := in.Number("altitude_ft")
	inHg, limit, listed := Scale(at)
	j := judged{err: exact(in, "reading_ft").Sub(exact(in, "altitude_ft"))}
	if !in.Has("tolerance_ft") {
		j.warnings = append(j.warnings, memory)
	}
	j.tolerance = tolerance(
		in, limit, listed,
		"table I lists no limit at this altitude; take a listed altitude or give tolerance_ft",
	)
	if listed {
		j.extra = append(j.extra, named{"table_static_inhg", inHg})
	}
	if p, err := iso.PressureAtFeet(at); err == nil {
		j.extra = append(j.extra, named{"static_pa", p})
	} else if in.Err() == nil {
		in.Fail(document.CodeRange, "altitude_ft", err.Error())
	}
	return j
}

// hysteresisTest compares the falling with the rising reading at 50 % and 40 % of the highest
// altitude.
func hysteresisTest(in *document.Reader) judged {
	at, highest := exact(in, "altitude_ft"), exact(in, "max_altitude_ft")
	j := judged{
		err:       exact(in, "descending_ft").Sub(exact(in, "ascending_ft")),
		tolerance: numeric.ExactInt(hysteresisFeet),
	}
	ten := numeric.ExactInt(10)
	if at.Mul(ten).Cmp(highest.Mul(numeric.ExactInt(5))) != 0 &&
		at.Mul(ten).Cmp(highest.Mul(numeric.ExactInt(4))) != 0 {
		j.warnings = append(
			j.warnings,
			warning{
				WarnPoint, "altitude_ft", "the rule has hysteresis read at 50 % and at 40 % of the highest altitude",
			},
		)
	}
	return j
}

// caseLeakTest judges the change per minute with the case at the pressure of 18 000 ft.
func caseLeakTest(in *document.Reader) judged {
	j := judged{err: exact(in, "start_ft").Sub(exact(in, "end_ft")), tolerance: numeric.ExactInt(caseLeakFeet)}
	if at, ok := in.Optional("altitude_ft"); ok && at != 18000 {
		j.warnings = append(
			j.warnings,
			warning{WarnPoint, "altitude_ft", "the rule has the case leak tested at the pressure of 18000 ft"},
		)
	}
	var w []warning
	j.err, w = perMinute(in, j.err)
	j.warnings = append(j.warnings, w...)
	return j
}

// perMinute divides a change by the minutes it took, or by 1 if none are given.
func perMinute(in *document.Reader, change numeric.Exact) (numeric.Exact, []warning) {
	if !in.Has("minutes") {
		in.Raw("minutes")
		return change, nil
	}
	minutes := exact(in, "minutes")
	if in.Err() == nil && minutes.Sign() <= 0 {
		in.Fail(document.CodeRange, "minutes", "must be above zero")
	}
	q, ok := change.Div(minutes)
	if !ok || minutes.Cmp(numeric.ExactInt(1)) == 0 {
		return change, nil
	}
	return q, []warning{
		{
			WarnMinutes, "minutes",
			"the limit is for one minute; the mean change per minute is judged, and a leak slows as it goes on",
		},
	}
}

// barometricTest compares the change of reading from the setting 29.92 to another with table IV.
func barometricTest(in *document.Reader) judged {
	setting := in.Number("setting_inhg")
	difference := exact(in, "reading_ft").Sub(exact(in, "reading_at_29_92_ft"))
	listed, ok := Barometric(setting)
	if !ok && in.Err() == nil {
		in.Fail(
			document.CodeUndecidable, "setting_inhg",
			"table IV does not list this setting; take 28.10, 28.50, 29.00, 29.50, 29.92, 30.50, 30.90 or 30.99",
		)
	}
	return judged{
		err: difference.Sub(exactOf(listed)), tolerance: numeric.ExactInt(barometricFeet), warnings: []warning{memory},
		extra: []named{{"difference_ft", difference.Float()}, {"table_difference_ft", listed}},
	}
}

// separationTest compares the altimetry system error with the limits for reduced vertical
// separation.
func separationTest(in *document.Reader) judged {
	group := Group(
		in.Choice(
			"group", string(EarlierBasic), string(EarlierFull), string(LaterFull), string(NonGroupBasic),
			string(NonGroupFull),
		),
	)
	meanLimit, limit, _ := SeparationLimits(group)
	j := judged{tolerance: exactOf(limit)}
	if group == NonGroupBasic || group == NonGroupFull {
		j.err = exact(in, "residual_ft").Abs().Add(exact(in, "avionics_ft").Abs())
		return j
	}
	mean, sigma := exact(in, "mean_ft"), exact(in, "sigma_ft")
	if in.Err() == nil && sigma.Sign() < 0 {
		in.Fail(document.CodeRange, "sigma_ft", "a standard deviation is not below zero")
	}
	j.err = mean.Abs().Add(sigma.Mul(numeric.ExactInt(3)))
	j.fails = exceeds(mean, exactOf(meanLimit))
	j.extra = []named{{"mean_ft", mean.Float()}, {"mean_tolerance_ft", meanLimit}}
	return j
}

// tolerance returns the user's own limit if one is given, else the listed one.
func tolerance(in *document.Reader, limit float64, listed bool, otherwise string) numeric.Exact {
	if in.Has("tolerance_ft") {
		own := exact(in, "tolerance_ft")
		if in.Err() == nil && own.Sign() <= 0 {
			in.Fail(document.CodeRange, "tolerance_ft", "must be above zero")
		}
		return own
	}
	in.Raw("tolerance_ft")
	if !listed && in.Err() == nil {
		in.Fail(document.CodeUndecidable, "altitude_ft", otherwise)
	}
	return exactOf(limit)
}

func exact(in *document.Reader, name string) numeric.Exact {
	d := in.Decimal(name)
	x, ok := numeric.ParseExact(d.Text)
	if !ok && in.Err() == nil {
		in.Fail(document.CodeNotANumber, name, "the number is too long")
	}
	return x
}

func exactOr(in *document.Reader, name string) numeric.Exact {
	if !in.Has(name) {
		in.Raw(name)
		return numeric.Exact{}
	}
	return exact(in, name)
}

func exactOf(x float64) numeric.Exact {
	e, _ := numeric.ExactOf(x)
	return e
}
