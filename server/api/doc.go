// Package api holds the routes and their handlers. It is the only package that knows both HTTP and
// the domain. README.md lists the routes; it is generated from the table in New and from the types
// of the bodies.
//
// A request passes three checks: its origin, the role that its route needs, and the bound on its
// body. The handler decodes the body, calls server/office for what the office decides or lists, and
// replies in JSON. Every refusal has the form {"error":{"code","field","message"}}; the tables
// refusal.Shared and statuses map errors to the status and the code.
//
// The office's own decisions (approve, return, reopen, issue, settle) are changes of the office's
// device in the store; server/office holds their rules. They go through the same journal as all
// other changes. A change that may not be written goes to quarantine and is never thrown away.
//
// It must never:
//   - acknowledge a change before the store has it on disk;
//   - hold a rule of the office, or answer an error of server/office that neither table has.
package api
