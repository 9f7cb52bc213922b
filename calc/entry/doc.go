// Package entry is the calculation entry: a value that is about to be kept in a run, with what
// the run has kept already, gives what speaks against it.
//
// Flow. The kind of work says what it doubts. Where it says nothing of its own, the pressure of
// a field is compared with the air of the place, and two readings one after the other that are
// far from their steps' pressures stop the work: something is most likely not connected.
//
// It keeps nothing and judges nothing: a value that is doubted can still be right.
package entry
