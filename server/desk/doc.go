// Package desk answers what an office asks over many records: how its standards stand, which
// results a standard that was out touches and what became of them, how the plant stands, what a
// month brought, and everything of one instrument. It writes its answers as reports too.
//
// Desk reads records through package plant and lists through package office, which writes what is
// decided. A look-back is calculated in the background, with its progress.
//
// It must never:
//   - let one visit that cannot be read or calculated hide another one;
//   - close a look-back's instrument without a decision;
//   - import net/http or a router.
package desk
