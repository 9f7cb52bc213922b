// Package hooks tells other systems what happens at a plant, by webhooks as the Standard Webhooks
// specification (standardwebhooks.com, version 1.0) signs them.
//
// endpoints.go keeps where to send to, each with a secret. follow.go reads the journal behind
// everybody's work and puts what happened into an outbox, in the transaction that moves its cursor:
// nothing is told twice or left out by a power cut. send.go sends, tries again for three days and
// puts an endpoint out of use that fails for long. guard.go keeps it from reaching into the plant's
// own network. The outbox is the log, too.
//
// It must never:
//   - slow a push: it follows the journal, and is called by nobody who writes;
//   - send to an address of a private network, unless the configuration names it;
//   - follow a redirect, or keep more of an answer than its beginning.
package hooks
