// Package dcc writes a digital calibration certificate: XML that a machine reads, after the schema
// DCC 3.3.0 with the units of D-SI 2.2.1 (https://ptb.de/dcc/v3.3.0/dcc.xsd).
//
// The writer takes a Certificate, whose numbers are decimal texts as they are to be printed, and
// gives the same bytes for the same Certificate. A quantity that is not in a unit of the SI is
// given in the SI first and as it was recorded beside it (si:hybrid). Units that D-SI does not know
// are written with a bar before their name and declared in a statement.
//
// Check holds what the schema cannot: references that lead somewhere, lists of one length, units
// that are known or declared, languages that are declared, dates in their order, a country that
// there is. Enclose puts the PDF that people read into a certificate.
//
// The package knows no visit and no store, and only changes units, exactly.
package dcc
