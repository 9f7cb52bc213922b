package airdata

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Defining constants of the standard atmosphere.
//
// Source: ICAO Doc 7488/3 (1993); R of the USSA column is R*/M of the US Standard Atmosphere 1976.
const (
	seaKelvin    = 288.15                   // K, exact
	gammaAir     = 1.4                      // exact
	isoGas       = 287.05287                // J/(kg·K)
	ussaGas      = 8314.32 / 28.9644        // J/(kg·K), quotient of published R* and M
	psiPascal    = 6894.757293168361        // Pa, 0.45359237·9.80665/0.0254² cut to 16 digits: 1.3e-16 below the psi of calc/units
	lowestMetre  = -5000.0                  // ISO 2533 Addendum 2 carries the lowest layer down to here
	highestMetre = 84852.0                  // geopotential; the end of the last layer
	lowestFeet   = lowestMetre / units.Foot // the same limits as an altimeter shows them
	highestFeet  = highestMetre / units.Foot
)

// layer is one layer of linear temperature in geopotential height.
type layer struct {
	base     float64 // m
	lapse    float64 // K/m
	kelvin   float64 // at the base
	pressure float64 // Pa at the base
	power    float64 // −g0/(R·lapse), or −g0/(R·T) per metre where the lapse is 0
}

// Model is a standard atmosphere: its gas constant and its layers, each base pressure chained
// exactly from the one below.
type Model struct {
	gas    float64
	sound0 float64 // kt at sea level
	floor  float64 // Pa at the highest altitude
	layers [7]layer
}

var (
	iso  = chain(isoGas)
	ussa = chain(ussaGas) // US Standard Atmosphere 1976: differs in R from the seventh digit on
)

// ISO returns the atmosphere of ISO 2533 and ICAO Doc 7488, R = 287.05287 J/(kg·K), which
// altimeters are made to.
func ISO() *Model { return iso }

func chain(gas float64) *Model {
	m := &Model{gas: gas}
	bases := [...]float64{0, 11000, 20000, 32000, 47000, 51000, 71000, highestMetre}
	lapses := [...]float64{-0.0065, 0, 0.001, 0.0028, 0, -0.0028, -0.002}
	kelvins := [...]float64{288.15, 216.65, 216.65, 228.65, 270.65, 270.65, 214.65}
	pressure := units.StandardAtmosphere
	for i := range m.layers {
		l := layer{base: bases[i], lapse: lapses[i], kelvin: kelvins[i], pressure: pressure}
		if l.lapse != 0 {
			l.power = -units.Gravity / float64(gas*l.lapse)
		} else {
			l.power = -units.Gravity / float64(gas*l.kelvin)
		}
		m.layers[i] = l
		pressure = l.pressureAt(bases[i+1])
	}
	m.floor = pressure
	m.sound0 = m.SoundSpeed(seaKelvin) / units.Knot
	return m
}

func (l *layer) pressureAt(metres float64) float64 {
	d := metres - l.base
	if l.lapse == 0 {
		return float64(l.pressure * numeric.Exp(float64(l.power*d)))
	}
	return float64(l.pressure * numeric.Exp(float64(l.power*numeric.Log1p(float64(l.lapse*d)/l.kelvin))))
}

func (m *Model) layerAt(metres float64) *layer {
	i := len(m.layers) - 1
	for i > 0 && metres < m.layers[i].base {
		i--
	}
	return &m.layers[i]
}

// Pressure returns the static pressure at a geopotential pressure altitude.
//
//	β ≠ 0: p = p_b·(1 + β(H − H_b)/T_b)^(−g0/(R·β));  β = 0: p = p_b·exp(−g0(H − H_b)/(R·T_b))
//
// Takes:   metres, geopotential, −5000 to 84852.
// Gives:   pascals, absolute.
// Refuses: an altitude outside the atmosphere.
// Source:  ICAO Doc 7488/3, ISO 2533 (equations of the layers).
func (m *Model) Pressure(metres float64) (float64, error) {
	if !(metres >= lowestMetre && metres <= highestMetre) {
		return 0, document.Refuse(
			document.CodeRange, "",
			"the altitude must be from -5000 to 84852 m (-16404.2 to 278385.8 ft) of pressure altitude",
		)
	}
	return m.layerAt(metres).pressureAt(metres), nil
}

// Altitude returns the geopotential pressure altitude at a static pressure, the inverse of Pressure
// without iteration.
//
// Takes:   pascals, absolute.
// Gives:   metres, geopotential.
// Refuses: a pressure outside the atmosphere.
// Source:  the equations of Pressure solved for H.
func (m *Model) Altitude(pascals float64) (float64, error) {
	if !(pascals >= m.floor && pascals <= m.layers[0].pressureAt(lowestMetre)) {
		return 0, document.Refuse(
			document.CodeRange, "", "the static pressure must be absolute and from 0.374 to 177687 Pa",
		)
	}
	i := len(m.layers) - 1
	for i > 0 && pascals > m.layers[i].pressure {
		i--
	}
	l := &m.layers[i]
	fall := logRatio(pascals, l.pressure)
	if l.lapse == 0 {
		return l.base + fall/l.power, nil
	}
	return l.base + float64(l.kelvin/l.lapse*numeric.Expm1(fall/l.power)), nil
}

// logRatio returns ln(a/b) without loss of digits if a and b are close.
func logRatio(a, b float64) float64 {
	if r := (a - b) / b; math.Abs(r) < 0.5 {
		return numeric.Log1p(r)
	}
	return numeric.Log(a / b)
}

// PressureAtFeet is Pressure with the altitude in feet.
func (m *Model) PressureAtFeet(feet float64) (float64, error) {
	return m.Pressure(float64(feet * units.Foot))
}

// Feet is Altitude in feet.
func (m *Model) Feet(pascals float64) (float64, error) {
	h, err := m.Altitude(pascals)
	return h / units.Foot, err
}

// Kelvin returns the standard temperature at a geopotential pressure altitude in metres.
func (m *Model) Kelvin(metres float64) float64 {
	l := m.layerAt(metres)
	return l.kelvin + float64(l.lapse*(metres-l.base))
}

// Density returns the density of air in kg/m³, ρ = p/(R·T).
//
// Source: ICAO Doc 7488/3, the gas equation.
func (m *Model) Density(pascals, kelvin float64) float64 { return pascals / float64(m.gas*kelvin) }

// SoundSpeed returns the speed of sound in m/s, a = √(γ·R·T).
//
// Source: ICAO Doc 7488/3.
func (m *Model) SoundSpeed(kelvin float64) float64 {
	return math.Sqrt(float64(float64(gammaAir*m.gas) * kelvin))
}

// Indicated returns what an altimeter shows with its subscale at a setting: H(static) − H(setting).
//
// Takes:   static pressure and setting, pascals absolute.
// Gives:   feet; negative below the level of the setting, never cut off at 0.
// Source:  ICAO and WMO practice (from memory); agrees to the foot with 14 CFR Part 43 Appendix E,
// table IV.
func (m *Model) Indicated(static, setting float64) (float64, error) {
	h, err := m.Altitude(static)
	if err != nil {
		return 0, err
	}
	s, err := m.Altitude(setting)
	return (h - s) / units.Foot, err
}

// Setting returns the QNH: the subscale setting at which an altimeter shows the elevation while the
// field pressure (QFE) is applied to it.
//
// Takes:   field pressure in pascals absolute; elevation in feet.
// Gives:   pascals, P(H(QFE) − E).
// Source:  as Indicated, solved for the setting.
func (m *Model) Setting(field, elevationFeet float64) (float64, error) {
	h, err := m.Altitude(field)
	if err != nil {
		return 0, err
	}
	return m.Pressure(h - float64(elevationFeet*units.Foot))
}

// FieldPressure returns the QFE: the pressure at an elevation under a QNH, the inverse of Setting.
//
// Source: as Setting.
func (m *Model) FieldPressure(setting, elevationFeet float64) (float64, error) {
	h, err := m.Altitude(setting)
	if err != nil {
		return 0, err
	}
	return m.Pressure(h + float64(elevationFeet*units.Foot))
}
