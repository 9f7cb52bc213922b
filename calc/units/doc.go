// Package units turns the quantities people type into SI float types and back, with exact factors
// and exact comparison across units.
//
// A unit is found by its spelling (Find, Of) and converts exactly, as a fraction of decimals: a
// value typed in one unit compares with a limit in another without rounding. The constants that
// several formulas share are here, each with its value, unit and source. The package knows no
// measurement and no instrument.
package units
