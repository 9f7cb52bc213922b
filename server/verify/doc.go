// Package verify checks records against what was signed and hashed of them, years later and without
// the server: a data folder, a backup, an export, or the record of one certificate as a file. It
// needs the public keys of the office and nothing secret, writes nothing, and stops at the first
// fault.
//
// If it finds none, this is proved: nothing in the journal was altered, left out or moved since its
// heads were signed (RFC 6962); who signed, approved and issued what with which key; that what they
// signed is what is there; that the findings are what the calculations give for the readings.
//
// It does not prove that a key is in the right hands, that a person was competent or, for the
// record of one certificate, that nothing came after its head.
package verify
