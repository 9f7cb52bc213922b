// Package paper signs certificates and checks them without the office that issued them. It handles
// the canonical record (RFC 8785) with its detached signature (RFC 7515), the code on the paper,
// the seal under the PDF, and the list of keys and of replaced certificates.
//
// Checking needs public keys and nothing secret. The package knows nothing of stores or of how a
// certificate looks. A valid result shows that nothing was altered since the laboratory signed it.
// It shows no accreditation, and is not a qualified electronic signature.
package paper
