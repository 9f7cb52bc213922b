// Package company invents a company of many plants, to measure what the program does at that size
// and for tests.
//
// Package demo invents some hundred instruments with all their work. These are the models, whose
// every finding was calculated from their readings. Each instrument of the company is a copy of a
// model with its own tag, serial and ids, at its own site, tested by that site's people with that
// site's standards. The changes go through the store like all others, so that the journal, its tree
// and every index are as after years of work. The same options give the same changes.
//
// Make refuses a store that already has changes.
package company
