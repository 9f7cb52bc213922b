// Package desk answers an office's questions over many records: the state of its standards, the
// results touched by a standard that was out and what became of them, the state of the plant, the
// results of a month, and everything about one instrument. It also writes its answers as reports.
//
// Desk reads records through package plant and lists through package office, which also writes the
// decisions. A look-back is calculated in the background and reports its progress.
//
// It must never:
//   - let one visit that cannot be read or calculated hide another one;
//   - close a look-back's instrument without a decision;
//   - import net/http or a router.
package desk
