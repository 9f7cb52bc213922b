// Package demo invents a plant with people, standards, methods, instruments and years of work, for
// trying the program, for tests and for pictures.
//
// All names, people, tags and numbers are our own. The past is made by the same code that a phone
// and the office use: plans from expand, readings with a drawn error, findings from evaluate,
// signatures, approvals, certificates. The same options give the same changes.
//
// Seed refuses a store that already has changes.
package demo
