package office

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"

	"gaugewright/server/labels"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// ErrLabels is wrapped where no labels, or one twice, are asked for.
var ErrLabels = errors.New("name the instruments, none twice")

// Labels returns the labels of instruments; one that has none yet is given one. base is the address
// of the server for phones.
//
// Refuses: ErrLabels, plant.ErrNotFound, labels.ErrLink.
func (o *Office) Labels(ctx context.Context, author, base string, ids []string) ([]labels.Label, error) {
	seen := map[string]bool{}
	for _, id := range ids {
		seen[id] = true
	}
	if len(seen) == 0 || len(seen) != len(ids) || len(seen) > maxSheet {
		return nil, fmt.Errorf("%w: 1 to %d", ErrLabels, maxSheet)
	}
	var list []labels.Label
	err := o.writer.Write(ctx, author, func(p *plant.Pen) ([]change.Change, error) {
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
			one, err := labelOf(&v, base)
			if err != nil {
				return nil, err
			}
			list = append(list, one)
		}
		return fresh, nil
	})
	return list, err
}

// labelLength makes 50 random bits: two of 100,000 instruments are alike with a chance of some 5 in
// a million.
const labelLength = 10

// maxSheet caps the labels of one request, which holds the writer while missing labels are given.
const maxSheet = 1000

// Label returns the label of one instrument.
//
// Refuses: plant.ErrNotFound, labels.ErrLink.
func (o *Office) Label(base, id string) (labels.Label, error) {
	_, v, err := o.labelled(id)
	if err != nil {
		return labels.Label{}, err
	}
	return labelOf(&v, base)
}

// labelled reads an instrument for its label, which says its tag and range; what else cannot be
// read does not matter to it.
func (o *Office) labelled(id string) (state merge.State, v plant.Instrument, err error) {
	if state, err = o.Record(id); err != nil {
		return state, v, err
	}
	if v, err = plant.ReadInstrument(state); Unreadable(err) && v.Tag != "" {
		err = nil
	}
	return state, v, err
}

func labelOf(v *plant.Instrument, base string) (labels.Label, error) {
	link, err := labels.Link(base, v.Label)
	if err != nil {
		return labels.Label{}, fmt.Errorf("%s: %w", v.Tag, err)
	}
	text := fmt.Sprintf("%s … %s %s", v.Range.Low, v.Range.High, v.Range.Unit)
	return labels.Label{Link: link, Tag: v.Tag, Text: text}, nil
}
