// Package coverage holds what verdicts claim against simulated work whose truth is known: how often
// a value just at its limit is accepted or rejected, how often ±U holds the truth, and how often
// what is half as large as allowed is accepted.
//
// It is tests alone: make coverage writes calc/COVERAGE.md from a long run, and the tests hold a
// short one against the goals. Its seeds are fixed.
package coverage
