package office

import (
	"errors"
	"fmt"

	"gaugewright/server/certificates"
)

// ErrUnready is wrapped where a visit has nothing yet that a draft of its paper could say.
var ErrUnready = errors.New("there is no draft of its paper")

// Preview draws what the certificate of a visit would say as the visit stands now, marked as a
// draft on every page. Nothing is kept of it.
//
// Refuses: plant.ErrNotFound, ErrLetterhead, ErrUnready.
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
	if errors.Is(err, certificates.ErrNotReady) {
		err = fmt.Errorf("%w: %w", ErrUnready, err)
	}
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
	b, err := certificates.PDF(in)
	if errors.Is(err, certificates.ErrIncomplete) {
		err = fmt.Errorf("%w: %w", ErrUnready, err)
	}
	return b, err
}
