// Package pitotstatic is the kinds of work on pitot-static instruments: altimeter, airspeed and
// vertical speed indicator, reported altitude, and the leak test of the lines.
//
// Words. A state is an altitude and an airspeed with the two pressures that make them. The bounds
// are the limits of everything on the lines: altitude, airspeed, rates, impact pressure. A point is
// one figure that is judged or only reported.
//
// Flow. Each kind lays out its method as a list of states with the readings there. Every state is
// checked against the bounds, so that pitot is never below static and nothing is over-ranged.
// judgeAir reads the captures, compares them with the points in decimals, and reviews rates, lines
// and how the run ended.
//
// It knows no other kind of work. The atmosphere and the rules of the regulation are in
// calc/airdata.
package pitotstatic
