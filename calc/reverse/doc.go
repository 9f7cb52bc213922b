// Package reverse is the calculation reverse: sheets that were judged with a standard, judged
// again with the standard as it is known to be now.
//
// Words. Before is the standard as it was thought to be, after as it is known to be. A reading
// is taken where the standard was out, or beyond the points of what is known now.
//
// Flow. Each sheet is judged twice by its kind of work, and what differs is written. Where the
// points of what is known now end, a reading is judged as before: nothing is extrapolated. A
// sheet that cannot be judged is named with its fault, and the others go on.
package reverse
