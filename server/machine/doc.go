// Package machine answers other systems over HTTP under /api/v1: instruments, due work, visits,
// certificates, standards and work orders, described by OpenAPI 3.1.
//
// tokens.go keeps what a system shows to be let in: a secret with scopes and a last day. routes.go
// is the one table of the routes, with the type of each body and reply; openapi.json is made of it
// by go generate and served beside it. orders.go takes work orders in; everything else is read.
// problem.go says what went wrong as RFC 9457 has it.
//
// It must never:
//   - keep a secret that can be read, or show one a second time;
//   - give what a token's scopes do not name;
//   - decide anything of the record: package office does.
package machine
