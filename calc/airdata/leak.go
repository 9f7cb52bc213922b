package airdata

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// LossOfAltitude returns the feet that an altimeter loses when the static pressure rises by pascals
// from an altitude.
//
// Takes:   feet; pascals, a rise positive.
// Gives:   feet, a loss positive.
// Refuses: pressures outside the atmosphere.
// Source:  Pressure and Altitude of the standard atmosphere.
func (m *Model) LossOfAltitude(feet, rise float64) (float64, error) {
	p, err := m.PressureAtFeet(feet)
	if err != nil {
		return 0, err
	}
	h, err := m.Feet(p + rise)
	return feet - h, err
}

// CASAfterLoss returns the airspeed left when the impact pressure of an airspeed falls by pascals.
//
// Refuses: a fall below static pressure.
// Source:  Impact and CAS.
func (m *Model) CASAfterLoss(knots, fall float64) (float64, error) {
	q := m.Impact(knots) - fall
	if q < 0 {
		return 0, document.Refuse(
			document.CodeRange, "pressure_change_pa",
			"this would leave the pitot pressure below static: there is no airspeed then",
		)
	}
	c, _ := m.CAS(q)
	return c, nil
}

// leakTest is a judged leak test of a pitot or static system.
type leakTest struct {
	loss, limit numeric.Exact
	end         float64
	equivalent  float64 // ft, for a pressurised cabin
	warnings    []warning
}

func readLeakTest(kind string, in *document.Reader) (leakTest, error) {
	var t leakTest
	start := exact(in, "start")
	from := start.Float()
	change, byPressure := in.Optional("pressure_change_pa")
	if byPressure && in.Has("end") {
		in.Fail(
			document.CodeConflict, "pressure_change_pa",
			"give the reading at the end or the change of pressure, not both",
		)
	}
	var end numeric.Exact
	if !byPressure {
		end = exact(in, "end")
	}
	if kind == kindPitot && in.Err() == nil && (from < 0 || from > highestKnots || (!byPressure && end.Float() < 0)) {
		in.Fail(document.CodeRange, "start", "airspeeds must be from 0 to 3000 kt")
	}
	cabin, hasCabin := in.Optional("cabin_psi")
	switch {
	case in.Err() != nil:
	case hasCabin && kind == kindPitot:
		in.Fail(document.CodeConflict, "cabin_psi", "a cabin differential belongs to a static system")
	case hasCabin && cabin <= 0:
		in.Fail(document.CodeRange, "cabin_psi", "must be above zero; leave it out for an unpressurised cabin")
	}
	if err := in.Err(); err != nil {
		return t, err
	}
	if byPressure {
		var loss float64
		var err error
		if kind == kindPitot {
			loss, err = iso.CASAfterLoss(from, change)
			loss = from - loss
		} else {
			loss, err = iso.LossOfAltitude(from, change)
		}
		if err != nil {
			return t, err
		}
		t.loss, t.end = exactOf(loss), from-loss
	} else {
		t.loss, t.end = start.Sub(end), end.Float()
	}
	if t.loss.Sign() < 0 {
		t.warnings = append(
			t.warnings,
			warning{
				WarnRise, "end",
				"the reading rose: look for a leak between the systems or a change of temperature before judging",
			},
		)
	}
	var w []warning
	t.loss, w = perMinute(in, t.loss)
	t.warnings = append(t.warnings, w...)
	if kind == kindPitot {
		t.limit = numeric.ExactInt(pitotLeakKnots)
		if start.Cmp(numeric.ExactInt(pitotTestKnots)) != 0 {
			t.warnings = append(t.warnings, warning{WarnPoint, "start", "the limit is for a system held at 150 kt"})
		}
		return t, in.Err()
	}
	limit, equivalent, err := iso.StaticLeakLimit(cabin)
	if err != nil {
		return t, document.Refuse(
			document.CodeRange, "cabin_psi",
			"the differential must leave a pressure inside the standard atmosphere",
		)
	}
	t.limit, t.equivalent = exactOf(limit), equivalent
	t.warnings = append(t.warnings, warning{WarnMemory, "limit", memory.message})
	return t, in.Err()
}
