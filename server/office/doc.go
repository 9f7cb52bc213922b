// Package office holds the office's own work: it approves and returns visits, opens them again,
// issues certificates, settles contested fields and says what a push may write. It knows the
// records and the accounts, and no HTTP: server/api decodes a request, calls Office and replies. A
// command or a job calls Office in the same way.
//
// Three things follow the journal. Index lists visits by day and instruments as a register that is
// searched, filtered and sorted, in memory.
// Writer writes the office's changes, one at a time, and counts certificate numbers. Scope and
// BlobSites say what a device is given.
//
// A decision is checked again and drafted while the writer is held: the office writes nothing
// between the check and the decision. An approval is checked once more in the transaction of the
// store. A decision that may not be made is refused with one of the errors of this package, which
// callers compare with errors.Is.
//
// It must never:
//   - approve what differs from what the reviewer was shown (ErrChanged);
//   - let anyone approve a visit that they made, signed or corrected (ErrOwn);
//   - replace a finding silently: what the calculation does not confirm is noted on the visit;
//   - give a certificate number twice, or change or delete an issued certificate;
//   - import net/http or a router.
package office
