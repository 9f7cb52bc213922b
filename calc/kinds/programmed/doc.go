// Package programmed is the kind of work that a programme of the user's own describes: its
// steps, and rules for what they give.
//
// Words. A rule holds the values of one name to limits, or says a condition that must hold at
// the end.
//
// Flow. expand checks the programme (calc/programme) and lists its steps once each. evaluate
// follows the programme with the captures of the run and holds every value to its rules, and
// every condition to the values that the run ended with.
//
// It knows no other kind of work.
package programmed
