package office

import (
	"errors"

	"gaugewright/server/certificates"
	"gaugewright/server/dcc"
	"gaugewright/server/plant"
)

// ErrNoMachine is wrapped if a certificate has no machine-readable form.
var ErrNoMachine = errors.New(
	"the certificate has no form for machines: when it was issued the letterhead had no country",
)

// Machine returns a certificate's machine-readable form (DCC 3.3.0), which contains the PDF.
//
// Refuses: ErrNoMachine.
func (o *Office) Machine(v *plant.Certificate) ([]byte, error) {
	b, came, err := o.brought(v.ID, func(b Brought) string { return b.XML })
	if err == nil && came && b == nil {
		err = ErrNoMachine
	}
	if came || err != nil {
		return b, err
	}
	switch {
	case v.Machine != "":
		if b, err = o.store.Blob(v.Machine); err != nil {
			return nil, err
		}
	case v.Letterhead != nil && v.Letterhead.Country != "":
		in, pdf, err := o.redrawn(v)
		if err != nil {
			return nil, err
		}
		if in.Signed != nil {
			return dcc.Enclose(in.Signed.XML, "certificate-"+v.Number+".pdf", pdf)
		}
		if b, err = certificates.Machine(in); err != nil {
			return nil, err
		}
	default:
		return nil, ErrNoMachine
	}
	pdf, err := o.Document(v)
	if err != nil {
		return nil, err
	}
	return dcc.Enclose(b, "certificate-"+v.Number+".pdf", pdf)
}
