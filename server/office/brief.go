package office

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Brief is a visit as the office's lists know it.
type Brief struct {
	ID, Instrument, Started, Signed, Person string
	Status                                  plant.Status
	Found, Left                             string // verdicts; "" where there is none
	Standards                               []string
	Open, Damaged                           bool // a failure is open after it; it cannot be read
}

// Briefs lists all visits, by their beginning.
func (o *Office) Briefs() ([]Brief, error) {
	x := o.index
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	list := make([]Brief, 0, len(x.visits))
	for _, v := range x.visits {
		list = append(list, Brief{
			ID: v.id, Instrument: v.instrument, Started: v.started, Signed: v.signed, Person: v.person, Status: v.status,
			Found: v.verdict, Left: v.left, Standards: v.standards, Open: v.open, Damaged: v.damaged,
		})
	}
	slices.SortFunc(list, func(a, b Brief) int {
		return strings.Compare(a.Started+" "+a.ID, b.Started+" "+b.ID)
	})
	return list, nil
}

// Gauges lists all instruments by their tags.
func (o *Office) Gauges() ([]Gauge, error) {
	x := o.index
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	cards := make([]*card, 0, len(x.gauges))
	for _, c := range x.gauges {
		cards = append(cards, c)
	}
	slices.SortFunc(cards, func(a, b *card) int { return strings.Compare(a.order+" "+a.ID, b.order+" "+b.ID) })
	list := make([]Gauge, 0, len(cards))
	for _, c := range cards {
		list = append(list, c.Gauge)
	}
	return list, nil
}

// IsHub says whether this is a hub, whose office is above it.
func (o *Office) IsHub() bool { return o.writer.seal.off }

// DateOf returns the day of a moment on the office's calendar, or "".
func (o *Office) DateOf(moment string) string { return o.index.date(moment) }

// Edit lets somebody of the office write a record: draft gives the record as it is, or a new one of
// its kind, and the fields to write; none where nothing is to be written.
func (o *Office) Edit(
	ctx context.Context, user string, draft func() (merge.State, []plant.Set, error),
) (id string, err error) {
	err = o.writer.Write(ctx, user, func(p *plant.Drafter) ([]change.Change, error) {
		state, set, err := draft()
		if err != nil || len(set) == 0 {
			return nil, err
		}
		var one change.Change
		if state.ID == "" {
			one, state, err = p.New(state.Kind, state.Site, state.Parent, o.now(), set...)
		} else {
			one, _, err = p.Edit(state, o.now(), set...)
		}
		id = state.ID
		return []change.Change{one}, err
	})
	return id, err
}

// authorised are the people with their competences; nil in an office that keeps none, where nobody
// is missing any.
type authorised map[string]plant.Person

func (o *Office) authorised() (authorised, error) {
	states, err := o.store.ByKind("person", "", 0)
	if err != nil {
		return nil, err
	}
	all, kept := authorised{}, false
	for _, s := range states {
		if p, err := plant.ReadPerson(s); err == nil {
			all[p.ID], kept = p, kept || len(p.Competences) > 0
		}
	}
	if !kept {
		return nil, nil
	}
	return all, nil
}

// may says whether somebody is authorised; always where the office keeps no competences.
func (a authorised) may(user, what, kind, day string) bool {
	if a == nil {
		return true
	}
	p := a[user]
	return p.MayOn(what, kind, day)
}

// workOf is the kind of work of a visit.
func workOf(v *plant.Visit) string {
	var d struct{ Kind string }
	if json.Unmarshal(v.Method.Definition, &d) != nil {
		return ""
	}
	return d.Kind
}
