package gauge

import (
	"math"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/uncertainty"
)

// AirChangePa is how far the pressure of the air may drift during the work, as a half-width, since
// the barometer is read once. Common practice, no source: quiet weather, an hour.
const AirChangePa = 100

// IsAir reports whether a pressure in Pa may be that of the air.
func IsAir(pa float64) bool { return pa > 1000 && pa < 200000 }

// NoAir is the refusal of a pressure that is not.
const NoAir = "is no pressure of the air"

// OnlyAbsolute is the refusal of a barometer beside an instrument that does not measure absolute
// pressure.
const OnlyAbsolute = "only for an absolute pressure is a barometer added to a gauge standard"

// barometerTerms are the budget codes of the parts of a barometer's uncertainty.
var barometerTerms = map[string]string{
	"std": "baro", "step": "baro_step", "cert": "baro_cert", "interp": "baro_interp", "drift": "baro_drift",
}

// ReadBarometer reads the barometer beside a gauge standard and its reading of the air.
//
//	applied = standard's reading + barometer's reading, each corrected
//
// Takes:   a Task with its mode, its unit and its surroundings, but not yet its head; the fallback
// beyond the barometer's points, or nil.
// Gives:   the pressure of the air as read, in the unit; ok is false without a barometer.
// Refuses: conflict for an instrument that does not measure absolute pressure; missing without the
// pressure of the air.
func ReadBarometer(
	in *document.Reader, t *Task, elsewhere *standard.Standard,
) (air numeric.Exact, ok bool) {
	b, ok := in.OptionalObject("barometer")
	if !ok {
		return air, false
	}
	one := standard.Read(b)
	one.Elsewhere = elsewhere
	switch {
	case in.Err() != nil:
		return air, false
	case t.Mode != "absolute":
		in.Fail(document.CodeConflict, "barometer", OnlyAbsolute)
	case !t.Around.HasPressure:
		in.Fail(
			document.CodeMissing, "surroundings.pressure_hpa",
			"a gauge standard measures an absolute pressure only with the pressure of the air",
		)
	}
	if in.Err() != nil {
		return air, false
	}
	air = AirIn(t.Around.PressurePa, t.Pascals)
	t.Barometer, t.air = &one, air.Float()
	if x, ok := one.Correction(t.air); ok && x != 0 {
		t.airOff = numeric.Twelve(x)
	}
	return air, true
}

// AirIn returns a pressure of the air in Pa as a decimal of twelve digits in a unit.
func AirIn(pa, pascals float64) numeric.Exact { return numeric.Twelve(pa / pascals) }

// Air returns the pressure of the air in the unit, as the barometer read it and as corrected.
func (t *Task) Air() (read, corrected float64) { return t.air, t.air + t.airOff.Float() }

// noAir rewords a standard's fault at a pressure for the barometer.
func noAir(f *document.Fault) error {
	field := strings.Replace(f.Field, "standard", "barometer", 1)
	why := "no range of the barometer holds the pressure of the air"
	if strings.HasSuffix(field, "points") {
		why = "the pressure of the air lies outside the points of the barometer's certificate; " +
			"nothing is extrapolated"
	}
	return document.Refuse(f.Code, field, why)
}

// airLines returns the barometer's lines in the budget of a point.
func (t *Task) airLines(sensitivity float64) ([]budgetLine, error) {
	parts, _, err := t.Barometer.Parts(t.air)
	if err != nil {
		return nil, noAir(document.AsFault(err))
	}
	var list []budgetLine
	for _, p := range parts {
		code := barometerTerms[p.Code]
		list = append(list, budgetLine{
			Term: code, Value: p.Value, Sensitivity: sensitivity, Divisor: p.Divisor, Shape: p.Shape, From: code, dof: p.DOF,
		})
	}
	return append(list, budgetLine{
		Term: "baro_once", Value: AirChangePa / t.Pascals, Sensitivity: sensitivity, Divisor: root3,
		Shape: uncertainty.Rectangular, From: "baro_once", dof: math.Inf(1),
	}), nil
}
