// Package choose says which ranges of which standards serve a visit on a day, and what speaks
// against each, the best first; which certificate of a standard is in force, which comes first and
// which points it has; which runs knew the same of a standard; and what to bring for a day. Whether
// a range reaches and is good enough is the calculation "serves"; here are the dates, the state of
// the standard and the order.
package choose
