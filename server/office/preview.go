package office

import (
	"gaugewright/server/certificates"
)

// Preview draws what the certificate of a visit would say as the visit is now, marked as a
// draft on every page. Nothing is kept of it.
//
// Refuses: plant.ErrNotFound, ErrLetterhead, certificates.ErrNotReady.
func (o *Office) Preview(visit string) ([]byte, error) {
	head, err := o.Letterhead()
	if err != nil {
		return nil, err
	}
	if head.Name == "" {
		return nil, ErrLetterhead
	}
	if _, err := o.Record(visit); err != nil {
		return nil, err
	}
	in, err := certificates.Draft(o.store, visit, head.states(Sheet{}), o.now())
	if err != nil {
		return nil, err
	}
	if in.Technician.Name == "" {
		names, err := o.Names()
		if err != nil {
			return nil, err
		}
		in.Technician.Name = Called(names, in.Visit.Person)
	}
	return certificates.PDF(in)
}
