// Package leak turns pressure and temperature over time into a leak rate, its uncertainty and a
// verdict against a limit.
//
// A test is a decay (pressure falls) or a rise (under vacuum). Readings are compensated to one
// temperature; the rate is the slope of a line through them times the volume. Readings close in
// time resemble each other, so the scatter of the slope is estimated with their correlation.
//
// Flow: Evaluate fits the line; Judge decides at the planned end of a test, and earlier only as far
// as the looks of a technician after each reading allow; Dwell and Settle say before a test how
// long it must measure and wait.
//
// It must never take a pressure in gauge mode as absolute, never report a rate without its
// uncertainty, and never decide more often wrongly than the stated confidence allows.
package leak
