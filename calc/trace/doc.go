// Package trace reads the text of a data logger's record: comma-separated values and their
// relatives.
//
// Look guesses the form of a file: separator, decimal sign, columns with their meaning, form of the
// time. A person confirms or changes the guess. Read then turns the text into samples exactly as
// confirmed, and uses nothing unconfirmed.
//
// The text comes in pieces that may end anywhere; a state passes from one call to the next. However
// a file is cut, the samples are the same. Every row is used, or counted and reported at its line
// with a reason. Thin reduces samples to means, or to extremes that keep peaks, set points and
// bounces.
//
// Columns and lines count from 1. Times count from the first row, from whole nanoseconds.
package trace
