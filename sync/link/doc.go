// Package link is one exchange between two sides: the device's changes go up, the changes that it
// lacks come down, in bounded pieces. The caller brings the transport.
//
// A request and its response are JSON objects; both sides ignore unknown fields:
//
//	{store, epoch, root, cursor, nonce, device, changes, limit, kinds?, scope?, last?, brief?,
//	 refused?, has?: [ids], protocol?, back?: [{given, changes}], reads?, passing?,
//	 about?: {wall, version, waiting, photos, oldest, was}}
//	{store, epoch, root, cursor, nonce, again?, twin?, scope?, sites?, more, acknowledged: [ids],
//	 quarantined: [{id, reason}], refused?, refusals?: [{id, reason}], had?: [ids], protocol?,
//	 newer?: [ids], passing?: [changes], passed?, given?, changes, time}
//	{same, nonce}      to a brief request that brings nothing and whose place has nothing new
//
// Place. A device's place in a journal is store, epoch, root and cursor. The epoch changes when a
// backup is restored. root is 32 digits of the tree's root over the first cursor entries. A place
// that does not belong to the journal as it is now gets the answer again, cursor 0 and no changes.
// The device then offers all its own changes again, in the order in which it wrote them, in pieces.
// So a restored server and an emptied phone complete each other.
//
// Back. given is the store's Ed25519 signature over the changes of a response, as bytes and in any
// order: it says that the journal has had them. A device keeps the latest of what it was given, as
// it came. After again it asks by has which of it are missing, and brings the groups that lack some
// in back. What the signature covers is taken without a judge, whoever wrote it and whoever brings
// it: other people's work, the office's decisions, certificates with their numbers. A group whose
// signature is not this store's is judged as what the sender wrote, and mostly quarantined.
//
// Nonce. The response repeats the request's nonce, so that the page of a captive portal is not
// taken for a response. last is the nonce of the last response that the device took. Where two
// responses after the same one have both been taken, two devices use one id (a copied profile): the
// response says twin. That device takes a new id and names the old one in about.was; its unsent
// changes go out as they were written.
//
// Scope. A technician with sites gets the records of these sites and those of no site; everybody
// else gets all. scope names what the device has been given. Where the account now has another
// scope, the response begins at the journal's start with the new scope and its sites, and the
// device drops the rest, but never what holds unsent or quarantined work. Of runs a device gets
// those of the latest two visits of an instrument, of visits begun in the last 30 days and of its
// own person's visits. With kinds it gets changes to records of these kinds only: a new phone asks
// first for what a day begins with, and keeps its cursor at 0 meanwhile.
//
// Refusals. refused names the refusals that the device knows of. Where the other side has news of
// changes that it acknowledged or held before, the response lists them in refusals, under a new
// name in refused. has asks which changes are there; had answers.
//
// Versions. protocol is the number of the exchange that a side speaks, 1 where it does not say;
// limits.go lists them. newer names the changes that a newer program wrote than the answering one:
// it kept nothing of them, and the sender keeps them until that program is brought up to date. From
// protocol 1, which knows no such answer, they go to the quarantine. A hub acknowledges them, keeps
// them as bytes and passes them on: up in changes, down in passing to who says by reads that it
// knows a later form than the hub. passing in a request and passed in a response count these. The
// hub takes in what the office has when it is brought up to date itself.
//
// about is what a device says of itself. No decision depends on it.
//
// A change is acknowledged only when it is on stable storage, in the journal or in the quarantine.
// One unreadable change does not hold up the others. limits.go bounds each piece; more says that
// there is more to come.
package link
