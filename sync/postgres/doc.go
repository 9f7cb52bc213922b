// Package postgres keeps a store's buckets in a database that speaks PostgreSQL's protocol, from a
// single node to distributed SQL, behind any number of servers. It knows keys and bytes only.
//
// One row per plant, in gaugewright_plants, orders all writers: a transaction locks it and raises
// its number when it commits. So there is one writer at a time over all servers, and the number
// tells a server whether what it remembers is still valid. The lock is a row lock, since not every
// database of the protocol has advisory locks. No sequence of the database is used, since sequences
// have gaps.
//
// A writing transaction keeps its writes in memory, reads through them, and sends all of them with
// its commit in one piece. A reader is a transaction that sees one moment. Both remember what they
// read for as long as the plant's number stays the same.
//
// A transaction that could not be serialized, or whose connection broke, is repeated. If the
// connection broke at the commit, the writer's row in gaugewright_writers says whether the commit
// went through, so that no transaction is done twice.
//
// It must never answer for a transaction before the database did, or do one twice.
package postgres
