package office

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// View is a visit with everything that the office looks at before it decides.
type View struct {
	Visit        json.RawMessage
	Runs         []json.RawMessage
	Status       plant.Status
	Attention    []string
	Covers       []string // what an approval of this state has to name
	Changed      []string
	Keys         plant.Marks
	People       map[string]string // names by id
	History      []Past
	Certificates []Paper
	Together     []Beside // the gauges on one manifold, including this one; empty if it was alone
	Pair         Pair
	EffectAsked  bool   // approving it needs a statement of what the failure means
	Effect       string // in the approval in force
}

// Beside is the visit of a gauge that shared a manifold with others.
type Beside struct {
	Visit  string       `json:"visit"`
	Tag    string       `json:"tag"` // "" if the visit has not arrived
	Status plant.Status `json:"status"`
}

// together returns the visits of a manifold in the order in which its gauges were read.
func (o *Office) together(ids []string) ([]Beside, error) {
	list := []Beside{}
	for _, id := range ids {
		one := Beside{Visit: id}
		state, ok, err := o.store.Record(id)
		if err != nil {
			return nil, err
		}
		if ok {
			v, err := plant.ReadVisit(state)
			if err != nil {
				return nil, err
			}
			one.Tag, one.Status = v.Item.Tag, v.Status
		}
		list = append(list, one)
	}
	return list, nil
}

// looked reports whether a change notes only that a visit was opened. The decision does not depend
// on that; the history of the record lists it.
func looked(p Past) bool {
	return !slices.ContainsFunc(p.Set, func(x PastSet) bool { return !strings.HasPrefix(x.Field, "seen.") })
}

// Pair is what the rule of two people means for the user and a visit.
type Pair struct {
	Worked []string `json:"worked"` // names of those who made, corrected or signed it
	Own    bool     `json:"own"`    // the user is one of them
	// Authorised is true if the user is authorised to review this kind of work today, Issues if
	// they may authorise its certificate.
	Authorised bool `json:"authorised"`
	Issues     bool `json:"issues"`
}

// View returns a visit as office staff see it. It first recalculates findings that use records of
// loggers.
func (o *Office) View(ctx context.Context, user, id string) (out View, err error) {
	runs, err := plant.Runs(o.store, id)
	if err != nil {
		return out, err
	}
	away, err := o.recheckTraces(ctx, runs)
	if err != nil {
		return out, err
	}
	state, err := o.Record(id)
	if err != nil {
		return out, err
	}
	v, err := plant.ReadVisit(state)
	if err != nil {
		return out, err
	}
	names, err := o.Names()
	if err != nil {
		return out, err
	}
	history, err := o.past(names, id)
	if err != nil {
		return out, err
	}
	states := make([]json.RawMessage, 0, len(runs))
	for _, r := range runs {
		one, _, err := o.store.Record(r.ID)
		if err != nil {
			return out, err
		}
		states = append(states, one.Bytes())
		more, err := o.past(names, r.ID)
		if err != nil {
			return out, err
		}
		history = append(history, more...)
	}
	papers, err := o.certificatesOf(id)
	if err != nil {
		return out, err
	}
	history = slices.DeleteFunc(history, looked)
	slices.SortFunc(history, func(a, b Past) int { return int(a.Seq) - int(b.Seq) })
	if err := compare(o.store, &v, runs); err != nil {
		return out, err
	}
	who, err := o.authorised()
	if err != nil {
		return out, err
	}
	attention, err := o.attention(&v, runs, who)
	if err != nil {
		return out, err
	}
	if away {
		attention = append(attention, "trace_away")
	}
	together, err := o.together(v.Together)
	if err != nil {
		return out, err
	}
	pair := pairOf(&state, runs, names, user)
	today := o.now().Format(time.DateOnly)
	pair.Authorised = who.may(user, plant.MayCheck, workOf(&v), today)
	pair.Issues = who.may(user, plant.MayIssue, workOf(&v), today)
	effect := ""
	if v.Approval != nil {
		effect = v.Approval.Effect
	}
	return View{
		Pair: pair, EffectAsked: foundOut(&v, runs), Effect: effect, Visit: json.RawMessage(state.Bytes()), Runs: states, Status: v.Status, Attention: attention,
		Covers: plant.Covered(&v, runs), Changed: append([]string{}, v.Changed...),
		Keys: v.Marks, People: names, History: history, Certificates: papers, Together: together,
	}, nil
}

// pairOf names those who worked on a visit and reports whether the user is one of them.
func pairOf(state *merge.State, runs []plant.Run, names map[string]string, user string) (p Pair) {
	ids := map[string]bool{}
	if f, ok := state.Field("signature"); ok {
		for _, h := range f.Heads {
			ids[h.Author] = true
		}
	}
	for id := range names {
		if plant.Named(state, id) || typed(runs, id) {
			ids[id] = true
		}
	}
	p.Worked, p.Own = []string{}, ids[user]
	for id := range ids {
		p.Worked = append(p.Worked, Called(names, id))
	}
	slices.Sort(p.Worked)
	return p
}
