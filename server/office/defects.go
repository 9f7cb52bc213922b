package office

import (
	"context"
	"errors"
	"fmt"

	"gaugewright/server/certificates"
	"gaugewright/server/labels"
	"gaugewright/server/plant"
)

// ErrInService is wrapped if a defect tag is asked for an instrument in service.
var ErrInService = errors.New("is in service and gets no defect tag")

// takenOut is the disposition that takes an instrument out of service and tags it.
const takenOut = "taken_out"

// Defects returns the defect tags of instruments out of service, either by the register or by their
// latest visit; a visit gives the reason and the code.
//
// Refuses: ErrLabels, ErrInService, plant.ErrNotFound, labels.ErrLink.
func (o *Office) Defects(
	ctx context.Context, author, base string, ids []string,
) (list []labels.Defect, err error) {
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	latest, err := o.index.latestOf(ids)
	if err != nil {
		return nil, err
	}
	err = o.labelling(ctx, author, ids, func(v *plant.Instrument) error {
		language, err := o.labelLanguage(v)
		if err != nil {
			return err
		}
		one, err := labelOf(v, base, language)
		if err != nil {
			return err
		}
		d := labels.Defect{
			Link: one.Link, Tag: v.Tag, Serial: v.Serial, Text: v.Description, Language: language,
		}
		out, err := o.takenOut(latest[v.ID], names, &d)
		if err != nil {
			return err
		}
		if !out && (v.Status == "" || v.Status == InService) {
			return fmt.Errorf("%s %w", v.Tag, ErrInService)
		}
		if !out {
			if err := o.putOut(v.ID, names, &d); err != nil {
				return err
			}
		}
		list = append(list, d)
		return nil
	})
	return list, err
}

// takenOut fills in what a visit recorded when it took its instrument out, and reports whether it
// did.
func (o *Office) takenOut(visit string, names map[string]string, d *labels.Defect) (bool, error) {
	state, ok, err := o.store.Record(visit)
	if visit == "" || err != nil || !ok {
		return false, err
	}
	v, err := plant.ReadVisit(state)
	if v.Disposition == nil || v.Disposition.Way != takenOut || err != nil && !Unreadable(err) {
		return false, err
	}
	f, _ := state.Field("disposition")
	d.Reason, d.Code = v.Disposition.Reason, certificates.In(d.Language).Defect(v.Disposition.Code)
	d.By, d.Date = Called(names, f.Heads[0].Author), o.index.date(v.Disposition.At)
	return true, nil
}

// putOut fills in who put an instrument out of service in the register, and when.
func (o *Office) putOut(id string, names map[string]string, d *labels.Defect) error {
	state, _, err := o.store.Record(id)
	if err != nil {
		return err
	}
	if f, ok := state.Field("status"); ok && len(f.Heads) > 0 {
		c, there, err := o.store.Change(f.Heads[0].Change)
		if err != nil {
			return err
		}
		if there {
			d.By, d.Date = Called(names, c.Author), o.index.date(c.Wall)
		}
	}
	return nil
}

// latestOf returns the latest visit of each instrument that has begun, by instrument.
func (x *Index) latestOf(instruments []string) (map[string]string, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	latest := map[string]string{}
	for _, instrument := range instruments {
		var last *visitEntry
		for _, n := range x.of[instrument] {
			if e := x.visits.at(n); last == nil || x.words.order(e.started, last.started) >= 0 {
				last = e
			}
		}
		if last != nil {
			latest[instrument] = last.id.text()
		}
	}
	return latest, nil
}
