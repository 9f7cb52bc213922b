package office

import (
	"gaugewright/server/certificates"
)

// Preview draws the certificate of a visit as it is now, marked as a draft on every page. It is not
// kept. language is as in Sheet.
//
// Refuses: plant.ErrNotFound, ErrLetterhead, ErrLanguage, certificates.ErrNotReady.
func (o *Office) Preview(visit, language string) ([]byte, error) {
	head, err := o.Letterhead()
	if err != nil {
		return nil, err
	}
	if head.Name == "" {
		return nil, ErrLetterhead
	}
	state, err := o.Record(visit)
	if err != nil {
		return nil, err
	}
	if language, err = head.language(o.store, &state, Sheet{Language: language}); err != nil {
		return nil, err
	}
	in, err := certificates.Draft(o.store, visit, head.states(Sheet{}, language), o.now())
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
