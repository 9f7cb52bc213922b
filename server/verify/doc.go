// Package verify holds records against what was signed and hashed of them, years later and without
// the server: a data folder, an export, or the record of one certificate as a file. It needs the
// public keys of the office and nothing secret, writes nothing, and ends at the first thing that
// does not hold.
//
// What holds then is: nothing in the journal was altered, left out or moved since its heads were
// signed (RFC 6962); who signed, approved and issued what with which key; that what they signed is
// what is there; that the findings are what the calculations make of the readings.
//
// It does not say that a key is in the right hands, that somebody was competent, or, of the record
// of one certificate, that nothing came after its head.
package verify
