package airdata

// Rows returns the listed rows of a test of Part 43 Appendix E, as a copy: scale and friction give
// altitude and tolerance in feet, barometric the setting in inHg and the difference in feet.
//
// Source: 14 CFR Part 43 Appendix E, tables I, III and IV.
func Rows(test string) []Listed {
	switch test {
	case TestScale:
		rows := make([]Listed, len(scaleTable))
		for i, r := range scaleTable {
			rows[i] = Listed{r.feet, r.tolerance}
		}
		return rows
	case TestFriction:
		return append([]Listed(nil), frictionTable[:]...)
	case TestBarometric:
		return append([]Listed(nil), barometricTable[:]...)
	}
	return nil
}

const check = "check against the current text"

// Rule returns the limit of a test if one limit holds at all altitudes, else 0, and the source of
// the test's limits. memory reports whether the limit itself is known from memory only.
//
// Source: as the text given back.
func Rule(test string) (feet float64, source string, memory bool) {
	const appendix = "14 CFR Part 43 Appendix E (2019 edition), "
	switch test {
	case TestScale:
		return 0, "14 CFR Part 43 Appendix E, table I; tolerance from memory: " + check, true
	case TestHysteresis:
		return hysteresisFeet, appendix + "table II; " + check, false
	case TestAfterEffect:
		return afterEffectFeet, appendix + "table II; " + check, false
	case TestCaseLeak:
		return caseLeakFeet, appendix + "table II; " + check, false
	case TestFriction:
		return 0, appendix + "table III; " + check, false
	case TestBarometric:
		return barometricFeet, appendix + "table IV; the 25 ft from memory: " + check, true
	case TestCorrespondence:
		return correspondenceFeet, "14 CFR Part 43 Appendix E (c); from memory: " + check, true
	case TestSeparation:
		return 0, "14 CFR Part 91 Appendix G section 2 (2019 edition); " + check, false
	}
	return 0, "", false
}

// The sources of the limits of leaks.
const (
	StaticLeakSource = "14 CFR 23.1325(b)(2); from memory: " + check
	PitotLeakSource  = "FAA AC 43.13-1B change 1, 12-59; the aircraft's manual goes before it"
)

// PitotLeakLimit returns what a pitot system may lose in one minute, in knots.
//
// Source: PitotLeakSource.
func PitotLeakLimit() float64 { return pitotLeakKnots }

// speedTable is one column of the airspeed tolerances: for the points from low to high, the
// tolerance in knots.
type speedTable struct {
	name string
	rows []Listed
}

// speedTables are the tables of airspeed tolerances, named by the range of the indicator.
//
// Source: TM 1-1500-204-23-4, table 4-1.
var speedTables = [...]speedTable{
	{"10-150", []Listed{{40, 3}, {60, 3}, {80, 3}, {100, 3}, {120, 3}, {140, 3}}},
	{
		"20-250",
		[]Listed{
			{40, 5}, {60, 3}, {80, 3}, {100, 4}, {120, 4}, {140, 5}, {160, 5}, {180, 5}, {200, 5}, {220, 5}, {240, 5},
		},
	},
	{"40-400", []Listed{
		{40, 4}, {60, 3}, {80, 3}, {100, 3}, {120, 3}, {140, 4}, {160, 4}, {180, 4}, {200, 5}, {220, 5}, {240, 5}, {260, 5}, {280, 5}, {300, 5},
		{320, 6}, {340, 6}, {360, 6}, {380, 6}, {400, 6},
	}},
}

// SpeedTableSource is the source of the tables of airspeed tolerances.
const SpeedTableSource = "TM 1-1500-204-23-4, table 4-1; " + check

// SpeedTable returns the points and tolerances in knots of the published table for an indicator's
// range: "10-150", "20-250" or "40-400".
//
// Source: SpeedTableSource.
func SpeedTable(name string) (rows []Listed, ok bool) {
	for i := range speedTables {
		if speedTables[i].name == name {
			return append([]Listed(nil), speedTables[i].rows...), true
		}
	}
	return nil, false
}

// SystemLimitSource is the permissible error of an installed airspeed system, with its source.
const SystemLimitSource = "14 CFR 23.1323(c), the installed system: 3 % or 5 kt, the greater; " + check
