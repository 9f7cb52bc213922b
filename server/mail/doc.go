// Package mail sends people messages about what waits for them, what failed and what falls due.
//
// people.go keeps who wants which messages at which address, in which language. Each day at a set
// hour everybody who wants it gets a digest, unless there is nothing to say; a failed safety
// function is reported at once. digest.go writes the messages. post.go puts them into an outbox, in
// the transaction that notes that they are written, and hands them to a mail server (RFC 5321) over
// STARTTLS or TLS. It retries for two days.
//
// It must never:
//   - send if no mail server is configured;
//   - send a password or the content of a message without TLS, except to this machine itself;
//   - slow a push: it follows the journal;
//   - write a message twice because the program ended in between.
package mail
