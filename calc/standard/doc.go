// Package standard turns a reference standard's specification and calibration into its uncertainty
// at a point.
//
// A standard has ranges, each with its maker's specification, and the points of its certificate:
// error, expanded uncertainty, coverage factor. standard.go has the terms and how they add up;
// certificate.go finds oddities of a certificate before it is used; compare.go finds the changes
// from one certificate to the next (drift and En); calculation.go has the calculations.
//
// Words: an error is indicated less true, a correction is added to a reading, a point is a line of
// a certificate. Nothing is extrapolated beyond the points of a certificate, and nothing is
// converted here: all values of a standard are in one unit.
package standard
