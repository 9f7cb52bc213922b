package airdata

import "gaugewright/calc/units"

// Listed is one row of a table of Part 43 Appendix E: where it applies and what it allows or gives,
// in feet.
type Listed struct{ At, Feet float64 }

// scaleTable is table I: altitude in feet, tolerance in feet. Its pressures are the rounded values
// of the standard atmosphere, so the exact pressure of the altitude replaces them.
//
// Source: 14 CFR Part 43 Appendix E, table I; the tolerances from memory.
var scaleTable = [...]struct{ feet, inHg, tolerance float64 }{
	{-1000, 31.018, 20}, {0, 29.921, 20}, {500, 29.385, 20}, {1000, 28.856, 20}, {1500, 28.335, 25}, {2000, 27.821, 30},
	{3000, 26.817, 30}, {4000, 25.842, 35}, {6000, 23.978, 40}, {8000, 22.225, 60}, {10000, 20.577, 80}, {12000, 19.029, 90},
	{14000, 17.577, 100}, {16000, 16.216, 110}, {18000, 14.942, 120}, {20000, 13.750, 130}, {22000, 12.636, 140},
	{25000, 11.104, 155}, {30000, 8.885, 180}, {35000, 7.041, 205}, {40000, 5.538, 230}, {45000, 4.355, 255}, {50000, 3.425, 280},
}

// Table II in feet.
//
// Source: 14 CFR Part 43 Appendix E (2019 edition), table II.
const (
	caseLeakFeet    = 100
	hysteresisFeet  = 75
	afterEffectFeet = 30
)

// frictionTable is table III.
//
// Source: 14 CFR Part 43 Appendix E (2019 edition), table III.
var frictionTable = [...]Listed{
	{1000, 70}, {2000, 70}, {3000, 70}, {5000, 70}, {10000, 80}, {15000, 90}, {20000, 100}, {25000, 120}, {30000, 140}, {35000, 160},
	{40000, 180}, {50000, 250},
}

// barometricTable is table IV: setting in inHg, difference in feet from the reading at 29.92.
//
// Source: 14 CFR Part 43 Appendix E (2019 edition), table IV.
var barometricTable = [...]Listed{
	{28.10, -1727}, {28.50, -1340}, {29.00, -863}, {29.50, -392}, {29.92, 0}, {30.50, 531}, {30.90, 893}, {30.99, 974},
}

// Limits of Part 43 Appendix E that we know from memory only.
const (
	barometricFeet     = 25
	correspondenceFeet = 125
)

// Scale returns the row of table I for a listed altitude: the printed pressure and the tolerance in
// feet.
//
// Refuses: ok is false between the listed altitudes, for which the rule gives no limit.
// Source:  14 CFR Part 43 Appendix E, table I; tolerances from memory.
func Scale(feet float64) (inHg, tolerance float64, ok bool) {
	for _, r := range scaleTable {
		if r.feet == feet {
			return r.inHg, r.tolerance, true
		}
	}
	return 0, 0, false
}

// Friction returns the limit of table III for a listed altitude.
//
// Refuses: ok is false between the listed altitudes.
// Source:  14 CFR Part 43 Appendix E (2019 edition), table III.
func Friction(feet float64) (tolerance float64, ok bool) { return find(frictionTable[:], feet) }

// Barometric returns the difference of table IV for a listed setting in inHg.
//
// Refuses: ok is false between the listed settings.
// Source:  14 CFR Part 43 Appendix E (2019 edition), table IV.
func Barometric(inHg float64) (difference float64, ok bool) { return find(barometricTable[:], inHg) }

func find(rows []Listed, at float64) (float64, bool) {
	for _, r := range rows {
		if r.At == at {
			return r.Feet, true
		}
	}
	return 0, false
}

// Group is one row of the altimetry limits for reduced vertical separation.
type Group string

// The rows of the rule. An aircraft of a group applied for on or before 9 April 1997 is of the
// earlier kind.
const (
	EarlierBasic  Group = "earlier-basic"
	EarlierFull   Group = "earlier-full"
	LaterFull     Group = "later-full"
	NonGroupBasic Group = "non-group-basic"
	NonGroupFull  Group = "non-group-full"
)

// SeparationLimits returns the limits in feet of mean altimetry system error and of its size plus
// three standard deviations; for an aircraft outside a group the only limit, of residual static
// source error plus avionics error, is total, and mean is 0.
//
// Source: 14 CFR Part 91 Appendix G section 2 (2019 edition).
func SeparationLimits(g Group) (mean, total float64, ok bool) {
	switch g {
	case EarlierBasic, LaterFull:
		return 80, 200, true
	case EarlierFull:
		return 120, 245, true
	case NonGroupBasic:
		return 0, 160, true
	case NonGroupFull:
		return 0, 200, true
	}
	return 0, 0, false
}

// StaticLeakLimit returns the feet that a static system may lose in one minute, and the altitude
// equivalent of a cabin differential.
//
//	unpressurised: 100 ft; pressurised: the greater of 100 ft and 2 % of the altitude at which the pressure is P0 − Δp
//
// Takes:   maximum certificated cabin differential in psi, 0 for an unpressurised cabin.
// Refuses: a differential that leaves no atmosphere.
// Source:  14 CFR 23.1325(b)(2); the limits from memory.
func (m *Model) StaticLeakLimit(cabinPSI float64) (limit, equivalent float64, err error) {
	if cabinPSI == 0 {
		return 100, 0, nil
	}
	equivalent, err = m.Feet(units.StandardAtmosphere - float64(cabinPSI*psiPascal))
	return max(100, equivalent/50), equivalent, err
}

// pitotLeakKnots is the airspeed that a pitot system held at 150 kt may lose in one minute.
//
// Source: FAA AC 43.13-1B change 1, 12-59; judged in knots, because its pressures are rounded.
const (
	pitotLeakKnots = 10
	pitotTestKnots = 150
)
