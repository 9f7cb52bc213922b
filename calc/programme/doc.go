// Package programme reads a test programme that a person wrote, writes it in one canonical form,
// finds what is wrong with it on every path before the work, and follows a run of it from its
// record.
//
// A programme is a list of steps, as text with one step a line or as JSON. scan.go and parse.go
// read the text; json.go reads and writes the list. check.go and flow.go follow every path with the
// known facts: the instrument's range, the standard's range, the weakest part, the relief valve,
// the volume. A finding has a level, a code, a line and a sentence. An error means that someone
// could be hurt, something damaged, or a step not done; a warning means that a result could be
// poor. Every code has a programme and a near twin without the fault in testdata/programmes.
//
// follow.go finds where a run is. It is a pure function of what was recorded: the current steps,
// the branch taken at each condition with its reason, and what ended the run. Resuming a run after
// a restart is the same call. Conditions are decided without rounding.
//
// Bounds of text, depth, steps and passes are in limits.go, each with its reason. The bounds end
// every computation of a programme.
package programme
