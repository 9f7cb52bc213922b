// Package plant reads sites, people, instruments, standards, methods, rounds, visits, runs and
// certificates out of merged records. It also drafts the changes of the office.
//
// RECORDS.md lists the kinds of record and their fields. A reader returns ErrKind when the record
// is of another kind and ErrValue, with the field's name, when a value does not have the form that
// the field has. Load functions read by record id; Find reads what a person means by a tag, a label
// or a serial; AsOf gives the records as they were at an entry of the journal.
//
// A visit's status follows from its fields alone. Its sheet is what evaluate gets: the effective
// captures (the superseded ones left out), the standard as it was chosen, surroundings, the column
// and the samples of loggers' records. Drafter drafts changes as a phone does, with a count and
// what it has seen.
//
// The package must never fill in a value that nobody recorded.
package plant
