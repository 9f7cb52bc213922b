package office

import (
	"errors"

	"gaugewright/server/certificates"
	"gaugewright/server/dcc"
	"gaugewright/server/plant"
)

// ErrNoMachine is wrapped where a certificate has no form for machines.
var ErrNoMachine = errors.New(
	"the certificate has no form for machines: when it was issued the letterhead had no country",
)

// Machine gives a certificate's form for machines (DCC 3.3.0), with the paper in it.
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
