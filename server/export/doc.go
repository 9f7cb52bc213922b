// Package export takes everything out of a plant, or what belongs to some of its instruments, into
// a folder that people read without this program, and brings such a folder into a new plant.
//
// The folder has each kind of record as CSV and as JSON, described by a JSON Schema; the documents
// of certificates; photos, records of loggers and other files; and under record/ the changes
// themselves, of which all the tables are made. tables.go names the tables and their columns.
// Nothing in it depends on when or where it was written: the same records give the same bytes, so
// that an export of a plant that was brought in from an export is that export.
//
// It is written as it is read, one instrument at a time: memory grows with the number of
// instruments and of files, not with their work.
//
// It must never:
//   - write what came into the journal after it began, or leave out what was there before;
//   - contain a secret: passwords, log-ins, private keys and settings stay where they are;
//   - bring anything into a plant that has work of its own.
package export
