// Package store keeps a journal of changes, and the records that they make, in one bbolt file,
// through power cuts. Blobs are files beside it, named by their SHA-256. Everything but the file
// itself goes through an engine (sync/engine), so a plant can also be in a database of PostgreSQL's
// protocol: OpenOn has the same journal, judging, tree and heads there (elsewhere.go).
//
// A data folder holds gaugewright.db, gaugewright.wal while a program uses it, and blobs/SHA256.
// store.go lists the buckets of the database with their keys. The journal is the truth; records,
// kinds, parents, lookup and history are indexes of it. A record of one change is kept as the
// number of that change. Any other record is kept as its state after some of its changes, and the
// later changes are applied when it is read (state.go). The tree over the journal (RFC 6962) has
// signed heads, so that anybody with the key can show later that nothing was altered, removed or
// moved.
//
// One goroutine writes. It takes what all callers wait for, judges and merges it in one transaction
// of the database, puts the transaction's writes into the write-ahead log (wal.go), syncs the log,
// and answers. The database is synced when the log has grown long, and when the store is closed.
// After a power cut the database is put back to the last such moment, and the log's records are
// redone (ahead.go). On systems without the log, each transaction is synced by itself. If a
// transaction with several callers fails, each is tried alone. A reader never holds a transaction
// long: it reads the journal in bounded steps.
//
// A change that may not be written goes to the quarantine with its reason. Private holds the
// server's own notes (accounts, log-ins, devices), which are not synced to phones. Note adds to the
// event log, a separate chain of what was done to accounts, keys and backups.
//
// migrate.go brings an older file up to date when it is opened; testdata keeps a file of every
// schema that was ever written. A file of a newer schema is refused with ErrNewer. Check walks a
// folder and names any damage; before bbolt maps a file, pages.go walks its pages with ordinary
// reads, because a wild offset in mapped memory would end the program. Backup copies a store while
// it is in use; Restore gives the copy a new epoch.
//
// The package must never acknowledge before fsync, change or remove a journal entry, accept two
// changes with one id and different bytes, or open a damaged file as if it were whole.
package store
