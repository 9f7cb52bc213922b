package office

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Brief is a visit in the office's lists.
type Brief struct {
	ID, Instrument, Started, Signed, Person string
	Status                                  plant.Status
	Found, Left                             string // verdicts; "" if there is none
	Standards                               []string
	Open, Damaged                           bool // Open: a failure is open after it; Damaged: it cannot be read
}

func (v *visitCard) brief() Brief {
	return Brief{
		ID: v.id, Instrument: v.instrument, Started: v.started, Signed: v.signed, Person: v.person, Status: v.status,
		Found: v.verdict, Left: v.left, Standards: v.standards, Open: v.open, Damaged: v.damaged,
	}
}

// briefs lists visits, ordered by when they began.
func briefs(cards []*visitCard) []Brief {
	slices.SortFunc(cards, func(a, b *visitCard) int {
		return cmp.Or(strings.Compare(a.started, b.started), strings.Compare(a.id, b.id))
	})
	list := make([]Brief, 0, len(cards))
	for _, v := range cards {
		list = append(list, v.brief())
	}
	return list
}

// following calls look with the lists brought up to the journal's end.
func (x *Index) following(look func()) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return err
	}
	look()
	return nil
}

// Sites returns the site of each instrument ("": none), save of a damaged one that does not say.
//
// Refuses: ErrReading, at once if the first reading goes on already.
func (o *Office) Sites() (list map[string]string, err error) {
	if part, reads := o.index.firstReading(); reads {
		return nil, reading(part)
	}
	err = o.index.following(func() {
		list = make(map[string]string, len(o.index.gauges))
		for id, c := range o.index.gauges {
			if c.Site != "" || !c.Damaged {
				list[id] = c.Site
			}
		}
	})
	return list, err
}

// Briefs lists the visits that began or were signed from the first day to the last ("": no end),
// ordered by when they began.
func (o *Office) Briefs(first, last string) (list []Brief, err error) {
	err = o.index.following(func() {
		seen, cards := map[uint32]bool{}, []*visitCard(nil)
		for number, of := range o.index.days {
			// As texts: a month ends on its 31st, whether it has one or not.
			if day := dayText(number); day < first || last != "" && day > last {
				continue
			}
			for _, n := range of {
				if !seen[n] {
					seen[n], cards = true, append(cards, o.index.visit(n))
				}
			}
		}
		list = briefs(cards)
	})
	return list, err
}

// BriefsWith lists the visits that began on or after a day and measured with a standard, and all
// that cannot be read, ordered by when they began.
func (o *Office) BriefsWith(standard, since string) (list []Brief, err error) {
	err = o.index.following(func() {
		var cards []*visitCard
		from := dayIn(since)
		for _, n := range o.index.used[standard] {
			if e := o.index.visits.at(n); !e.damaged && e.begun >= from {
				cards = append(cards, o.index.visit(n))
			}
		}
		for _, v := range o.index.open {
			if v.damaged {
				cards = append(cards, v)
			}
		}
		list = briefs(cards)
	})
	return list, err
}

// LastUses returns the latest visit that measured with each standard.
func (o *Office) LastUses() (last map[string]Brief, err error) {
	err = o.index.following(func() {
		last = map[string]Brief{}
		x := o.index
		for standard, of := range x.used {
			if len(of) > 0 {
				last[standard] = x.visit(slices.MaxFunc(of, func(a, b uint32) int {
					return x.later(x.visits.at(a), x.visits.at(b))
				})).brief()
			}
		}
	})
	return last, err
}

// OpenBriefs lists the visits that need attention, ordered by when they began.
func (o *Office) OpenBriefs() (list []Brief, err error) {
	err = o.index.following(func() {
		list = briefs(slices.Collect(maps.Values(o.index.open)))
	})
	return list, err
}

// Standing calls each for every instrument, in no order, with its latest signed visit that has a
// result, or nil. each must not keep or alter either.
func (o *Office) Standing(each func(g *Gauge, last *Brief)) error {
	return o.index.following(func() {
		x := o.index
		for id, c := range x.gauges {
			var last *visitEntry
			at := uint32(0)
			for _, n := range x.of[id] {
				e := x.visits.at(n)
				if e.signed != 0 && (e.verdict != 0 || e.left != 0) && (last == nil || x.later(e, last) > 0) {
					last, at = e, n
				}
			}
			if last == nil {
				each(&c.Gauge, nil)
				continue
			}
			b := x.visit(at).brief()
			each(&c.Gauge, &b)
		}
	})
}

// IsHub reports whether this is a hub, with an office above it.
func (o *Office) IsHub() bool { return o.writer.seal.off }

// DateOf returns the day of a moment in the office's calendar, or "".
func (o *Office) DateOf(moment string) string { return o.index.date(moment) }

// Edit writes a record for office staff. draft returns the record as it is, or a new one, and the
// fields to write; no fields means that nothing is written.
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

// authorised maps people to their competences; nil if the office keeps none, and then everybody
// counts as authorised.
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

// may reports whether a person is authorised; always true if the office keeps no competences.
func (a authorised) may(user, what, kind, day string) bool {
	if a == nil {
		return true
	}
	p := a[user]
	return p.MayOn(what, kind, day)
}

// workOf returns the kind of work of a visit.
func workOf(v *plant.Visit) string {
	var d struct{ Kind string }
	if json.Unmarshal(v.Method.Definition, &d) != nil {
		return ""
	}
	return d.Kind
}
