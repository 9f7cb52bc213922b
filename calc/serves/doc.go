// Package serves is the calculation serves: whether one range of a standard serves a method on an
// instrument, and the objections to it.
//
// Words. A demand is what a plan asks of a standard: how far it has to reach, and the limit at
// each value that is judged. A bridge turns what the instrument shows into what the standard
// measures. The ratio is the limit over the standard's expanded uncertainty.
//
// Flow. The method is laid out by its kind of work, and its steps make the demand. The range is
// compared with it: quantity, mode, reach, then the ratio at every judged value. It chooses
// nothing: it lists the objections to a range, and a person decides.
package serves
