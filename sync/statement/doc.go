// Package statement signs and checks what people state about records: that a visit is done,
// approved, sent back or reopened, that a certificate is issued, that a key belongs to somebody.
//
// A statement is an object of five texts in the form of RFC 8785:
//
//	{"by":PERSON,"digest":SHA-256,"field":WORD,"format":"gaugewright-statement-1","record":ID}
//
// digest is the SHA-256, in hexadecimal digits, of the canonical form of the value that is written
// to the field, without its members proof and office, which carry signatures. A value that refers
// to other records has a member content: the SHA-256 of what those records said (Content).
//
// A signature is a JWS with a detached payload (RFC 7515 appendix F) of Ed25519 (RFC 8037) or of
// ECDSA with P-256 (RFC 7518 §3.4). Its header is {"alg":…,"kid":…} and nothing else; kid is the
// thumbprint of the key (RFC 7638). The id of a key's record is made from its thumbprint, so that
// the signature leads to the key.
//
// The package knows no record's meaning, no store and no clock. The records say whose a key is and
// when it ended.
package statement
