// Package certificates writes the certificate of an approved visit as a PDF.
//
// A certificate shows the instrument, the standard, the surroundings, the results as found and as
// left with uncertainty and limit, the decision rule with its risk, the corrections made, remarks,
// signature and approval. Every figure comes from the record of the visit as it stood when the
// certificate was issued. The same record and the same program give the same bytes.
//
// A certificate without a stored PDF is drawn on demand, from the journal at its entry
// (plant.AsOf). If the record there does not match the stored fingerprint, nothing is drawn.
//
// A certificate is in English or German, as Office.Language says. Every phrase goes through say,
// and a test checks that server/german has it; german.Sentence translates the sentences of the
// calculations, as on the phone. What people wrote stays as they wrote it. The language is in the
// signed record, in the machine-readable form and in the PDF. CLAUSES.md lists what a certificate
// has to state, and where it does.
//
// The package calculates nothing: it prints findings.
package certificates
