// Package export writes everything in a plant, or what belongs to some of its instruments, to a
// folder that people can read without this program. It also imports such a folder into a new plant.
//
// The folder has each kind of record as CSV and as JSON, described by a JSON Schema; the documents
// of certificates; photos, records of loggers and other files; and, under record/, the changes from
// which all the tables are made. tables.go names the tables and their columns. Nothing in it
// depends on when or where it was written: the same records give the same bytes, so an import of an
// export can be exported as the same bytes.
//
// It is written while it is read, one instrument at a time: memory grows with the number of
// instruments and of files, not with their work.
//
// It must never:
//   - write what came into the journal after it began, or leave out what was there before;
//   - contain a secret: passwords, log-ins, private keys and settings stay where they are;
//   - import into a plant that already has other work.
package export
