// Package coverage checks the claims of verdicts on simulated work whose truth is known: how often
// a value just at its limit is accepted or rejected, how often ±U contains the truth, and how often
// a value of half its limit is accepted.
//
// It has only tests: make coverage writes calc/COVERAGE.md from a long run, and the tests compare a
// short run with the goals. The seeds are fixed.
package coverage
