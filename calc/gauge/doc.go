// Package gauge turns readings at test points into errors, hysteresis, repeatability, zero return
// and a verdict against the instrument's limit. It serves gauges and transmitters.
//
// A reading has a point, an applied and an indicated value, a direction, a cycle and a mounting. An
// error is the indicated value minus the corrected applied value. A limit follows from a class, a
// grade, a part of span or reading, or a fixed value. A transmitter is judged on its output, in mA
// or V.
//
// Flow: input.go reads the document; output.go and package standard correct the readings; cycles.go
// groups the readings into cycles and compares them; budget.go combines the uncertainty at each
// point; judge.go applies the decision rule; write.go writes the reply.
//
// Limits are compared as exact decimals: a value equal to its limit is inside. A result that the
// readings do not support is undecided with a reason, never a pass.
package gauge
