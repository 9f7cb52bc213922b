// Package entry is the calculation entry: it takes a value that is about to be kept in a run, with
// the values kept before, and returns the doubts about it.
//
// Flow. The kind of work says what it doubts. For a kind without doubts of its own, the pressure of
// a field is compared with the air of the place, and two consecutive readings far from their steps'
// pressures stop the work: most likely something is not connected.
//
// It keeps nothing and judges nothing: a doubted value can still be right.
package entry
