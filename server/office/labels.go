package office

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"

	"gaugewright/server/certificates"
	"gaugewright/server/labels"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// ErrLabels is wrapped if no labels are asked for, or one twice.
var ErrLabels = errors.New("name the instruments, none twice")

// Labels returns the labels of instruments, and gives one to each that has none. base is the
// server's address for phones. Dated labels also say when the instrument is due, and its status.
//
// Refuses: ErrLabels, plant.ErrNotFound, labels.ErrLink.
func (o *Office) Labels(
	ctx context.Context, author, base string, ids []string, dated bool,
) (list []labels.Label, err error) {
	err = o.labelling(ctx, author, ids, func(v *plant.Instrument) error {
		language, err := o.labelLanguage(v)
		if err != nil {
			return err
		}
		one, err := labelOf(v, base, language)
		if dated {
			one.More = statusOf(v, certificates.In(language))
		}
		list = append(list, one)
		return err
	})
	return list, err
}

// labelling reads instruments for their labels, and gives a label to each that has none.
func (o *Office) labelling(
	ctx context.Context, author string, ids []string, take func(*plant.Instrument) error,
) error {
	seen := map[string]bool{}
	for _, id := range ids {
		seen[id] = true
	}
	if len(seen) == 0 || len(seen) != len(ids) || len(seen) > maxSheet {
		return fmt.Errorf("%w: 1 to %d", ErrLabels, maxSheet)
	}
	return o.writer.Write(ctx, author, func(p *plant.Drafter) ([]change.Change, error) {
		var fresh []change.Change
		for _, id := range ids {
			state, v, err := o.labelled(id)
			if err != nil {
				return nil, err
			}
			if v.Label == "" {
				if v.Label, err = change.NewID(rand.Reader); err != nil {
					return nil, err
				}
				v.Label = v.Label[:labelLength]
				one, _, err := p.Edit(state, o.now(), plant.Set{Field: "label", Value: v.Label})
				if err != nil {
					return nil, err
				}
				fresh = append(fresh, one)
			}
			if err := take(&v); err != nil {
				return nil, err
			}
		}
		return fresh, nil
	})
}

// labelLanguage returns that of what is stuck on an instrument: its own, else that of its site's
// customer, else the laboratory's.
func (o *Office) labelLanguage(v *plant.Instrument) (string, error) {
	head, err := o.Letterhead()
	if err != nil {
		return "", err
	}
	return head.Speaks(o.store, v.Language, v.Site)
}

// statusOf returns what a label says of an instrument's service and due date.
func statusOf(v *plant.Instrument, said certificates.Language) []string {
	due := v.Due
	if due == "" {
		due = said.Phrase("no date set")
	}
	return []string{said.Phrase("due: {}", due), said.Phrase(cmp.Or(v.Status, InService))}
}

// labelLength gives 50 random bits: the chance that two of 100,000 labels are alike is about 5 in a
// million.
const labelLength = 10

// maxSheet caps the labels of one request, which holds the writer while it makes the missing ones.
const maxSheet = 1000

// Label returns the label of one instrument.
//
// Refuses: plant.ErrNotFound, labels.ErrLink.
func (o *Office) Label(base, id string) (labels.Label, error) {
	_, v, err := o.labelled(id)
	if err != nil {
		return labels.Label{}, err
	}
	language, err := o.labelLanguage(&v)
	if err != nil {
		return labels.Label{}, err
	}
	return labelOf(&v, base, language)
}

// labelled reads an instrument for its label, which has the tag and the range; it ignores what else
// cannot be read.
func (o *Office) labelled(id string) (state merge.State, v plant.Instrument, err error) {
	if state, err = o.Record(id); err != nil {
		return state, v, err
	}
	if v, err = plant.ReadInstrument(state); Unreadable(err) && v.Tag != "" {
		err = nil
	}
	return state, v, err
}

func labelOf(v *plant.Instrument, base, language string) (labels.Label, error) {
	link, err := labels.Link(base, v.Label)
	if err != nil {
		return labels.Label{}, fmt.Errorf("%s: %w", v.Tag, err)
	}
	said := certificates.In(language)
	text := said.Number(string(v.Range.Low)+" … "+string(v.Range.High)) + " " + v.Range.Unit
	return labels.Label{Link: link, Tag: v.Tag, Text: text}, nil
}
