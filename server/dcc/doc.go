// Package dcc writes a digital calibration certificate: machine-readable XML by the schema DCC
// 3.3.0 with the units of D-SI 2.2.1 (https://ptb.de/dcc/v3.3.0/dcc.xsd).
//
// The writer takes a Certificate, whose numbers are decimal texts as they are to be printed, and
// gives the same bytes for the same Certificate. A quantity that is not in an SI unit is given in
// the SI first, with its recorded form beside it (si:hybrid). Units that D-SI does not know are
// written with a bar before their name and declared in a statement.
//
// Check checks what the schema cannot: that references resolve, that lists have one length, that
// units are known or declared, that languages are declared, that dates are in order, and that the
// country exists. Enclose puts the PDF into a certificate.
//
// The package knows no visit and no store. It changes only units, and those exactly.
package dcc
