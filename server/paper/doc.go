// Package paper signs certificates and checks them without the office that issued them: the one
// canonical record (RFC 8785) with its detached signature (RFC 7515), the code on the paper, the
// seal under the PDF, and the list of keys and of certificates that were replaced.
//
// It needs public keys and nothing secret to check, and knows nothing of stores and of how a
// certificate looks. What holds shows that nothing was altered since the laboratory signed it. It
// shows no accreditation, and is no qualified electronic signature.
package paper
