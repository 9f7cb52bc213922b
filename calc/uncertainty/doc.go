// Package uncertainty combines the terms of an uncertainty budget, by the law of propagation and by
// seeded trials, and computes the inputs of one: from repeated observations, a straight line, or a
// model that a user wrote as a formula.
//
// Uncertainties are standard ones, in the unit of what they belong to. The same seed gives the same
// trials on every machine. A budget states its degrees of freedom; trials tell whether their last
// digit is stable.
package uncertainty
