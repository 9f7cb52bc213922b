// Package airdata turns static and pitot pressures into altitude, airspeed, Mach number and their
// rates, and back. It judges tests of the instruments that show them and plans how to reach a
// point.
//
// Altitudes are in feet, airspeeds in knots, rates in feet and knots a minute, pressures in
// pascals. Static pressure is absolute; impact pressure is pitot minus static. The atmosphere is
// the standard atmosphere of ICAO Doc 7488/3.
//
// Flow: Pressure and Altitude convert one way and the other; Impact and CAS do the same for
// airspeed; the tests of altimeters, leaks and profiles are built on those four. rules.go names
// where each limit comes from and whether we know it from memory only.
//
// It must never judge by a limit without saying where the limit comes from. It must never plan a
// way on which pitot falls below static or a rate exceeds its bound.
package airdata
