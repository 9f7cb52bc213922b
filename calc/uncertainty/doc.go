// Package uncertainty combines the terms of an uncertainty budget, by the law of propagation and by
// seeded trials, and makes what goes into one: repeated observations, a straight line, a model that
// a user wrote as a formula.
//
// Uncertainties are standard ones, in the unit of what they belong to. The same seed gives the same
// trials on every machine. A budget says where its degrees of freedom end; trials say whether their
// last digit is stable.
package uncertainty
