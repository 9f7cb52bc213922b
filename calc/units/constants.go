package units

// The constants that formulas share, once each. They are constant expressions, which the compiler
// rounds only where they are used.
//
// Source:  SI Brochure, 9th edition, 2019 (standard atmosphere, Celsius zero, molar gas constant);
// 3rd CGPM, 1901 (gravity); international yard and pound agreement, 1959 (inch, foot, pound);
// NIST SP 811 (knot, US gallon, conventional mercury). From memory.
const (
	StandardAtmosphere = 101325.0                 // Pa, exact
	ZeroCelsius        = 273.15                   // K, exact: 0 °C
	MolarGas           = 8.31446261815324         // J/(mol·K), exact: the product of the Boltzmann and the Avogadro constant
	Gravity            = 9.80665                  // m/s², exact by convention: standard gravity
	Inch               = 0.0254                   // m, exact
	Foot               = 0.3048                   // m, exact
	Pound              = 0.45359237               // kg, exact
	Knot               = 1852.0 / 3600            // m/s, exact: one nautical mile an hour
	InchMercury        = 3386.388640341           // Pa, exact by convention: an inch of 13595.1 kg/m³ under standard gravity
	Gallon             = 231 * Inch * Inch * Inch // m³, exact: the US liquid gallon, 231 cubic inches
)

// MolarGasShort is MolarGas rounded to ten digits, 2e-11 too small. The densities and the columns
// of gases are calculated with it.
const MolarGasShort = 8.314462618
