// Package bursttest is the kind of work on rupture discs: each is taken to its burst, and the
// lot is judged.
//
// Words. The marked pressure and its tolerance, a manufacturing range about the requested
// pressure, the end limit at which a ramp is given up.
//
// Flow. layBurst reads the lot and the method and writes the plan with its cautions. evaluate takes
// the typed peak, or finds the burst in a record (calc/burst), judges each disc and says what the
// discs show about their lot. One disc cannot burst twice.
//
// It knows no other kind of work.
package bursttest
