// Package world plays phones, hubs and an office through bad days made from a seed, and compares
// what they hold at the end with what happened. It has tests only.
//
// The stores, the merge and the exchange are the real ones, on databases in memory. The lines drop,
// repeat, delay and alter what they carry. Power fails at any transaction. Disks are full, clocks
// are decades off, profiles are copied, backups are restored, accounts are revoked, old files are
// upgraded.
//
// A day is a function of its seed: -seed N plays one again, -seeds N -steps N plays many. With the
// build tag planted, each of the errors that the code carries on purpose must be found.
//
// The world must never help the code under test: it knows what happened only from what it did
// itself.
package world
