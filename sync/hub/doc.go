// Package hub forwards the work of a place without a steady line to the office, and the office's
// work to that place. A hub is the same program as an office, started with --upstream; hubs may
// chain.
//
// The queue is the hub's own journal: everything after the last entry that the office acknowledged,
// without what came from the office. A hub therefore has nothing to lose that the journal does not
// keep. Blobs go in pieces of 256 kB from where the other side has come to. A blob that is only at
// the office is fetched when somebody asks for it, and kept.
//
// The office judges each change by the account of its author, not by that of the hub. People have
// the same id at both (gaugewright users add --id); accounts are not forwarded. An account of the
// role hub may sync, carry blobs and read the tree, and nothing else.
//
// A change that the office refuses stays in the hub's journal; the hub notes the reason, also one
// that the office reports later. Offer lets the next exchanges offer such changes again. Without a
// line the hub goes on as it is: it never refuses work because the office cannot be reached.
//
// After an older copy of the office was restored, the hub first brings back what the office gave,
// with its signature: of each response it keeps the ids and the signature, the bytes lie in its
// journal. Where values were erased since it brings the erasure first, then what is left in its
// place. Then it offers its whole journal. Two hubs that forward to each other by mistake come to
// an end: each has what the other sends.
//
// A file of unsent work (what a phone's button saves) reaches an office or a hub without any line:
//
//	{"format":"gaugewright-unsent-1","device","changes":[…],"photos":[{sha256,type,base64}]}
//
// It is read piece by piece and taken up to where it ends. Decisions of the office are never taken
// from a file.
package hub
