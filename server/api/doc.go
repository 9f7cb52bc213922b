// Package api holds the routes and their handlers. It is the only package that knows both HTTP and
// the domain. README.md lists the routes; it is generated from the table in New and from the types
// of the bodies.
//
// A request passes the check of its origin, the role that its route needs and the bound on its
// body. The handler decodes the body, calls server/office for what the office decides or lists,
// and replies in JSON. Every refusal has the form {"error":{"code","field","message"}}; the table
// statuses maps what went wrong to the status and the code.
//
// The office's own decisions (approve, return, reopen, issue, settle) are changes of the device
// that the office has in the store; server/office holds their rules. They go through the same
// journal as everybody's changes. A change that may not be written goes to the quarantine and is
// never thrown away.
//
// It must never:
//   - acknowledge a change before the store has it on disk;
//   - hold a rule of the office, or answer an error of server/office that has no row in statuses.
package api
