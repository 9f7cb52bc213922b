// Package machine answers other systems over HTTP under /api/v1: instruments, due work, visits,
// certificates, standards and work orders, described by OpenAPI 3.1.
//
// tokens.go keeps the tokens by which systems are admitted: a secret with scopes and a last day.
// routes.go is the one table of the routes, with the type of each body and reply; go generate makes
// openapi.json from it, which is served as well. orders.go takes in work orders; everything else is
// read-only. problem.go describes errors by RFC 9457.
//
// It must never:
//   - store a secret in readable form, or show one a second time;
//   - give what a token's scopes do not name;
//   - decide anything about records: package office does.
package machine
