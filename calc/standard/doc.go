// Package standard turns a reference standard's specification and calibration into its uncertainty
// at a point.
//
// A standard has ranges, each with what its maker promises, and the points of its certificate:
// error, expanded uncertainty, coverage factor. standard.go has the terms and how they add up;
// certificate.go asks what is odd about a certificate before it is used; compare.go says what
// changed from one certificate to the next (drift and En); calculation.go has the calculations.
//
// Words: an error is indicated less true, a correction is what is added to a reading, a point is a
// line of a certificate. Nothing is extrapolated beyond the points of a certificate, and nothing is
// converted here: all values of a standard are in one unit.
package standard
