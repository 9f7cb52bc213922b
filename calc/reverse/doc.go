// Package reverse is the calculation reverse: sheets that were judged with a standard, judged
// again with the standard as it is known to be now.
//
// Words. Before is the standard as it was thought to be, after as it is known to be. taken counts
// the readings that rest on the standard: those where it was out, and those beyond the points known
// now.
//
// Flow. Its kind of work judges each sheet twice, and the differences are written. A reading beyond
// the points known now is judged as before: nothing is extrapolated. A sheet that cannot be judged
// is listed with its fault, and the others are still judged.
package reverse
