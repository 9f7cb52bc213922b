// Package plant reads sites, people, instruments, standards, methods, rounds, visits, runs and
// certificates out of merged records. It also drafts the changes of the office.
//
// RECORDS.md lists the kinds of record and their fields. A reader returns ErrKind if the record is
// of another kind, and ErrValue with the field's name if a value does not have the field's form.
// Load functions read by record id; Find reads by a tag, a label or a serial number; AsOf returns
// the records as they were at an entry of the journal.
//
// A visit's status follows from its fields alone. Its sheet is the input of evaluate: the effective
// captures (without superseded ones), the standard as it was chosen, surroundings, the column and
// the samples of loggers' records. Drafter drafts changes as a phone does, with a count and what it
// has seen.
//
// The package must never fill in a value that nobody recorded.
package plant
