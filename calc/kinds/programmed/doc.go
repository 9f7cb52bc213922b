// Package programmed is the kind of work that a user's own programme describes: its steps, and
// rules for their values.
//
// Words. A rule sets limits for the values of one name, or a condition that must hold at the end.
//
// Flow. expand checks the programme (calc/programme) and lists its steps once each. evaluate
// follows the programme with the captures of the run. It checks every value against its rules, and
// every condition with the last values of the run.
//
// It knows no other kind of work.
package programmed
