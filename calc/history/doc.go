// Package history turns the past results of an instrument into its drift, the risk that it is out
// of limits on a day, and the next due date.
//
// A course is the sequence of as-found errors at one point. Follow fits one slope to it and
// predicts the next error with a band. An adjustment restarts the error at the value left. The
// interval methods extend or shorten a fixed interval according to the last results.
//
// It must never predict from as-left results alone: they say how good the adjustment was, not how
// the instrument drifts.
package history
