// Package hooks notifies other systems of events at a plant, by webhooks signed by the Standard
// Webhooks specification (standardwebhooks.com, version 1.0).
//
// endpoints.go keeps the receivers, each with a secret. follow.go follows the journal and puts
// events into an outbox, in the transaction that moves its cursor, so that a power cut neither
// repeats nor loses one. send.go sends, retries for three days and disables an endpoint that fails
// for long. guard.go keeps it from reaching into the plant's own network. The outbox is also the
// log.
//
// It must never:
//   - slow a push: it follows the journal, and no writer calls it;
//   - send to an address of a private network, unless the configuration names it;
//   - follow a redirect, or keep more of an answer than its beginning.
package hooks
