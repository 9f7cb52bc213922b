// Package certificates writes the certificate of an approved visit as a PDF.
//
// A certificate shows the instrument, the standard, the surroundings, the results as found and as
// left with uncertainty and limit, the decision rule with its risk, the corrections made, remarks,
// signature and approval. Every figure comes from the record of the visit as it stood when the
// certificate was issued. The same record and the same program give the same bytes.
//
// A certificate without a stored PDF is drawn when somebody asks for it, from the journal at its
// entry (plant.AsOf). If the record there does not match the stored fingerprint, nothing is drawn.
//
// The package calculates nothing: it prints findings. Words are in words.go.
package certificates
