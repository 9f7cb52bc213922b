// Package office does the office's own work: it approves, returns and reopens visits, issues
// certificates, settles contested fields and decides what a push may write. It knows the records
// and the accounts, and no HTTP: server/api decodes a request, calls Office and replies. Commands
// and jobs call Office in the same way.
//
// Three things follow the journal. Index lists visits by day with their rows, and instruments as a
// register to search, filter and sort, in memory. Writer writes the office's changes, one at a
// time, and counts certificate numbers. Scope and BlobSites decide what a device receives. Of a
// folder that came from elsewhere Index reads all records once; of a large one that takes minutes,
// goes on after a stop, and is answered with ErrReading meanwhile.
//
// Office checks a decision again and drafts it while it holds the writer, so that it writes nothing
// between the check and the decision. It checks an approval once more in the store's transaction. A
// decision that is not allowed is refused with one of the errors of this package, which callers
// compare with errors.Is.
//
// It must never:
//   - approve what differs from what the reviewer was shown (ErrChanged);
//   - let anyone approve a visit that they made, signed or corrected (ErrOwn);
//   - replace a finding silently: what the calculation does not confirm is noted on the visit;
//   - give a certificate number twice, or change or delete an issued certificate;
//   - import net/http or a router.
package office
