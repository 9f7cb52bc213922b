// Package units turns the quantities people type into SI float types and back, with exact factors
// and exact comparison across units.
//
// A unit is found by its spelling (Find, Of) and converts exactly, as a fraction of decimals: what
// was typed in one unit compares with a limit in another without rounding. The constants that
// several formulas share are here once, each with its value, its unit and where it comes from. The
// package knows no measurement and no instrument.
package units
