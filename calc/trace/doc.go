// Package trace reads the text of a data logger's record: comma-separated values and their
// relatives.
//
// Look says what a file seems to be: separator, decimal sign, columns with a guess of their
// meaning, form of the time. A person confirms or changes that. Read then turns the text into
// samples exactly as confirmed. Nothing that nobody confirmed is used.
//
// The text comes in pieces that may end anywhere; a state goes from one call to the next. However a
// file is cut, the samples together are the same. Every row is used, or counted and named at its
// line with a reason. Thin reduces samples to means, or to extremes that keep peaks, set points and
// bounces.
//
// Columns and lines count from 1. Times count from the first row, from whole nanoseconds.
package trace
