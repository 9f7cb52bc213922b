// Package conformity turns a value, its uncertainty, limits and a decision rule into a verdict with
// its risk.
//
// Decide judges one value by exact fractions. A Zone judges many errors against one limit, faster
// and with the same verdicts. Along gives the verdicts over an interval of values, for a drawing.
// Risks gives the shares of wrong acceptances and rejections in a population. The package knows no
// instrument and no unit: value, limits and uncertainty are in one unit of the caller's choice.
package conformity
