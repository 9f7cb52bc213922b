// Package leak turns pressure and temperature over time into a leak rate, its uncertainty and a
// verdict against a limit.
//
// A test is a decay (pressure falls) or a rise (under vacuum). Readings are compensated to one
// temperature; the rate is the slope of a line through them times the volume. Readings close in
// time are correlated, and the scatter of the slope is estimated with that correlation.
//
// Flow: Evaluate fits the line; Judge decides at the planned end of a test, and earlier only at a
// risk that allows a look after each reading; Dwell and Settle tell before a test how long to
// measure and to wait.
//
// It must never take a pressure in gauge mode as absolute, never report a rate without its
// uncertainty, and never decide more often wrongly than the stated confidence allows.
package leak
