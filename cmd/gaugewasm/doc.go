// Command gaugewasm is the calculations and the merge as a WebAssembly reactor (wasip1) for the
// phone.
//
// Exports:
//
//   - reserve(n) allocates space for a request of n bytes and returns where to write it.
//   - call() answers the request and returns the length of the reply; reply() returns where it is.
//   - tidy() collects garbage. The host sets GOGC=off and GOMEMLIMIT=128MiB in the environment and
//     calls tidy when nobody waits for an answer: one thread cannot collect beside a calculation.
//
// A request is NAME, a newline and the document. NAME is calc/CALCULATION, or sync/merge,
// sync/settle or sync/draft (package merge). The calculation trace also takes "bytes/trace", a
// newline, its document without text in one line, a newline, and the bytes of the file as they are.
//
// The module holds no state between calls. After a crash it gives the reason without function
// names, because cmd/webbuild removes them; the same request on the server gives them.
package main
