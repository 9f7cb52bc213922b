// Package link is one exchange between two sides: the device's changes go up, and the changes that
// it lacks come down, in bounded pieces. The caller brings the transport.
//
// A request and its response are JSON objects; both sides ignore unknown fields:
//
//	{store, epoch, root, cursor, nonce, device, changes, limit, kinds?, scope?, last?, brief?,
//	 lane?, after?, refused?, has?: [ids], protocol?, back?: [{given, changes, was?}], reads?,
//	 passing?, about?: {wall, version, waiting, photos, oldest, was}}
//	{store, epoch, root, cursor, nonce, again?, twin?, scope?, sites?, more, acknowledged: [ids],
//	 quarantined: [{id, reason}], refused?, refusals?: [{id, reason}], had?: [ids], protocol?,
//	 newer?: [ids], passing?: [changes], passed?, given?, changes, time}
//	{same, nonce}      to a brief request that brings nothing and whose place has nothing new
//
// Place. A device's place in a journal is store, epoch, root and cursor. The epoch changes when a
// backup is restored. root is 32 digits of the tree's root over the first cursor entries. If a
// place does not belong to the present journal, the response carries again, cursor 0 and no
// changes. The device then offers all its own changes again, in the order in which it wrote them,
// in pieces. So a restored server and an emptied phone complete each other.
//
// Back. given is the store's Ed25519 signature over the leaves of a response's changes, in any
// order: it says that the journal has had them. A device keeps the latest of what it was given, as
// it came. After again it asks by has which of it are missing, and brings the groups that lack some
// in back. What the signature covers is taken without a judge, whoever wrote it and whoever brings
// it: other people's work, the office's decisions, certificates with their numbers. A group whose
// signature is not this store's is judged as what the sender wrote, and mostly quarantined. Of a
// change that is not brought as it was given, since values of it were erased, was has {change,
// leaf}; what is left of it is taken where the record says so, by an erasure that is brought first.
//
// Nonce. The response repeats the request's nonce, so that no device takes the page of a captive
// portal for a response. last is the nonce of the last response that the device took. If devices
// have taken two different responses after the same one, they share one id (a copied profile), and
// the response says twin. That device takes a new id and names the old one in about.was; its unsent
// changes go out as they were written.
//
// Lanes. From protocol 3 on, a device may send one more request, in lane 1, before the reply to the
// first has come. last is then the last reply that it took in that lane, so that the lanes do not
// look like two devices. after is the nonce of the first request. The second request is read at
// once and taken only after the first. If the first was not taken, the answer is 409 early, and
// nothing of the second is kept.
//
// Scope. A technician with sites gets the records of these sites and those of no site; everybody
// else gets all records. scope names what the device has been given. If the account now has another
// scope, the response begins at the journal's start with the new scope and its sites. The device
// then drops the other records, except those with unsent or quarantined work. Of runs, a device
// gets those of an instrument's latest two visits, of visits begun in the last 30 days and of its
// own person's visits. With kinds it gets only changes to records of these kinds: a new phone first
// asks for what a day begins with, and keeps its cursor at 0 meanwhile.
//
// Refusals. refused names the list of refusals that the device knows. If the other side has news of
// changes that it acknowledged or held before, the response lists all refusals in refusals, under a
// new name in refused. A list shorter than MaxRefusals is complete: any other change of this person
// that the device counts as refused was taken in since. A device that gets the answer quarantined
// for a change on no list forgets its list's name, so that the next list comes. has asks which
// changes are there; had answers.
//
// Versions. protocol is the number of the exchange that a side speaks, 1 if it does not say;
// limits.go lists them. newer names changes that were written by a newer program than the answering
// one. That side kept nothing of them, and the sender keeps them until that program is updated.
// From a sender of protocol 1, which does not know this answer, they go to the quarantine. A hub
// acknowledges them, keeps them as bytes and passes them on: up in changes, and down in passing to
// devices whose reads names a later form than the hub's. passing in a request and passed in a
// response count these. Once updated itself, the hub takes in those that the office has.
//
// about is the device's report on itself. No decision depends on it.
//
// A change is acknowledged only when it is on stable storage, in the journal or in the quarantine.
// One unreadable change does not hold up the others. limits.go bounds each piece; more says that
// there is more to come.
package link
