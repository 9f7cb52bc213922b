package office

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

var (
	// ErrMethodChanged is wrapped if a draft or the version in force is no longer as it was shown.
	ErrMethodChanged = errors.New("the draft or the method has changed since it was shown; look at it again")
	// ErrOwnMethod is wrapped if a person puts their own draft into force.
	ErrOwnMethod = errors.New(
		"whoever wrote a method does not put it into force; another person of the office has to look at it",
	)
)

// mostRefused is how many of the instruments that a draft does not fit are named.
const mostRefused = 20

// MethodPage is a method as the office sees it for a decision.
type MethodPage struct {
	ID       string          `json:"id"`
	Name     string          `json:"name"` // of the version in force, else of the first draft
	Kind     string          `json:"kind"`
	Version  int             `json:"version"` // in force; 0 if there is none
	Alone    bool            `json:"alone"`   // the user has no second person in the office
	Waiting  []WaitingMethod `json:"waiting"`
	Versions []MethodVersion `json:"versions"` // the newest first
}

// WaitingMethod is a draft that waits for a second person.
type WaitingMethod struct {
	User     string        `json:"user"`
	Change   string        `json:"change"`
	By       string        `json:"by"` // name
	At       string        `json:"at"`
	Name     string        `json:"name"`
	Why      string        `json:"why"`
	From     int           `json:"from"`
	Own      bool          `json:"own"`    // the user's own
	Fields   []Differing   `json:"fields"` // against the version in force
	SentBack *MethodSaid   `json:"sent_back"`
	Used     int           `json:"used"`    // instruments that the method tests
	Refused  int           `json:"refused"` // those of them that the draft cannot test
	Refusals []BulkRefused `json:"refusals"`
}

// MethodSaid is a comment on a draft.
type MethodSaid struct {
	By  string `json:"by"`
	At  string `json:"at"`
	Why string `json:"why"`
}

// MethodVersion is a version that is or was in force.
type MethodVersion struct {
	Version  int         `json:"version"`
	At       string      `json:"at"`       // since when
	By       string      `json:"by"`       // name of the author
	Approved string      `json:"approved"` // name of the person who put it into force; "" if that was not kept
	Alone    bool        `json:"alone"`    // without a second person
	Why      string      `json:"why"`
	Note     string      `json:"note"`
	Fields   []Differing `json:"fields"` // against the version before
}

// MethodApproval is what a person in the office puts into force, as it was shown.
type MethodApproval struct {
	Draft   string `json:"draft"`   // author of the draft
	Change  string `json:"change"`  // the change that wrote it
	Version int    `json:"version"` // in force
	Note    string `json:"note"`
	Alone   bool   `json:"alone"` // the user knows that there is no second person
}

// alone reports whether an administrator has nobody else in the office who could check their work.
func (o *Office) alone(user auth.User) (bool, error) {
	if user.Role != auth.Administrator {
		return false, nil
	}
	users, err := o.keeper.Users()
	return !slices.ContainsFunc(users, func(u auth.User) bool {
		return u.ID != user.ID && !u.Revoked && (u.Role == auth.Reviewer || u.Role == auth.Administrator)
	}), err
}

// Method returns a method with its waiting drafts and its versions.
//
// Refuses: plant.ErrNotFound, plant.ErrKind.
func (o *Office) Method(user auth.User, id string) (p MethodPage, err error) {
	state, err := o.Record(id)
	if err != nil {
		return p, err
	}
	m, err := plant.ReadMethod(state)
	if err != nil && !Unreadable(err) {
		return p, err
	}
	names, err := o.Names()
	if err != nil {
		return p, err
	}
	p = MethodPage{
		ID: id, Name: m.Name, Kind: m.Kind, Version: m.Version, Waiting: []WaitingMethod{}, Versions: []MethodVersion{},
	}
	if p.Alone, err = o.alone(user); err != nil {
		return p, err
	}
	now := methodText{m.Name, m.Definition, m.Cautions}
	for i := range m.Drafts {
		d := &m.Drafts[i]
		w := WaitingMethod{
			User: d.User, Change: d.Change, By: Called(names, d.Author), At: d.Wall, Name: d.Name, Why: d.Why,
			From: d.From, Own: d.Author == user.ID || d.User == user.ID, Refusals: []BulkRefused{},
		}
		if w.Fields, err = methodDiffers(now, methodText{d.Name, d.Definition, d.Cautions}); err != nil {
			return p, err
		}
		if d.SentBack != nil {
			w.SentBack = &MethodSaid{Called(names, d.SentBack.Author), d.SentBack.Wall, d.SentBack.Why}
		}
		if err := o.tryMethod(id, d.Definition, &w); err != nil {
			return p, err
		}
		p.Waiting = append(p.Waiting, w)
		p.Name, p.Kind = cmp.Or(p.Name, d.Name), cmp.Or(p.Kind, kindOfWork(d.Definition))
	}
	p.Versions, err = o.methodVersions(&m, names)
	return p, err
}

func kindOfWork(definition json.RawMessage) string {
	var of struct{ Kind string }
	_ = json.Unmarshal(definition, &of) // no kind if it cannot be read
	return of.Kind
}

// tryMethod counts the instruments that a method tests, and those that a draft of it could not
// test.
func (o *Office) tryMethod(id string, definition json.RawMessage, w *WaitingMethod) error {
	cards, err := o.index.testedBy(id)
	if err != nil {
		return err
	}
	known := map[string]string{}
	for _, c := range cards {
		wants := c.wants.Value()
		why, asked := known[wants]
		if !asked {
			if why, err = layOut(definition, wants); err != nil {
				return err
			}
			known[wants] = why
		}
		w.Used++
		if why == "" {
			continue
		}
		if w.Refused++; len(w.Refusals) < mostRefused {
			w.Refusals = append(w.Refusals, BulkRefused{c.ID, c.Tag, why})
		}
	}
	return nil
}

// testedBy lists the instruments in service that a method tests, ordered by tag.
func (x *Index) testedBy(method string) (list []*card, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	for _, c := range x.gauges {
		if c.facts.Method == method && c.Status == InService {
			list = append(list, c)
		}
	}
	slices.SortFunc(list, func(a, b *card) int { return cmp.Or(strings.Compare(a.Tag, b.Tag), strings.Compare(a.ID, b.ID)) })
	return list, nil
}

// ApproveMethod puts a draft of a method into force as its next version, and returns its number.
// Until then the version before applies, and visits keep the version with which they began.
//
// Refuses: plant.ErrNotFound, ErrMethodChanged, ErrOwnMethod, ErrContested, a Fault with the field
// of the draft.
func (o *Office) ApproveMethod(ctx context.Context, user auth.User, id string, a MethodApproval) (version int, err error) {
	a.Note = strings.TrimSpace(a.Note)
	if len(a.Note) > MaxRemark {
		return 0, document.Refuse(document.CodeRange, "note", "too long")
	}
	err = o.writer.WriteIf(ctx, user.ID, func(p *plant.Drafter) ([]change.Change, error) {
		state, d, err := o.draftAsShown(id, a)
		if err != nil {
			return nil, err
		}
		said := plant.MethodApproval{By: d.Author, Of: d.Change, Why: d.Why, Note: a.Note}
		if d.User == user.ID || d.Author == user.ID {
			if said.Alone, err = o.alone(user); err != nil {
				return nil, err
			}
			if !said.Alone || !a.Alone {
				return nil, ErrOwnMethod
			}
		}
		version = a.Version + 1
		one, _, err := p.Edit(state, o.now(),
			plant.Set{Field: "name", Value: d.Name}, plant.Set{Field: "kind", Value: kindOfWork(d.Definition)},
			plant.Set{Field: "definition", Value: d.Definition}, plant.Set{Field: "cautions", Value: orNone(d.Cautions)},
			plant.Set{Field: "version", Value: version}, plant.Set{Field: "draft." + d.User, Value: nil},
			plant.Set{Field: "approval." + strconv.Itoa(version), Value: said},
		)
		return []change.Change{one}, err
	}, func(v store.View, _ *change.Change) error {
		state, _, err := v.Record(id)
		if err != nil {
			return err
		}
		if f, ok := state.Field("draft." + a.Draft); !ok || f.Heads[0].Change != a.Change || f.Contested() {
			return ErrMethodChanged
		}
		return nil
	})
	return version, err
}

func orNone(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}

// draftAsShown reads a draft that can be put into force, and refuses it if it is not as it was
// shown.
func (o *Office) draftAsShown(id string, a MethodApproval) (merge.State, plant.MethodDraft, error) {
	state, err := o.Record(id)
	if err != nil {
		return state, plant.MethodDraft{}, err
	}
	m, err := plant.ReadMethod(state)
	if err != nil {
		return state, plant.MethodDraft{}, err
	}
	d, ok := m.DraftOf(a.Draft)
	switch {
	case !ok:
		return state, d, fmt.Errorf("the draft of %q %w", a.Draft, plant.ErrNotFound)
	case d.Change != a.Change || m.Version != a.Version:
		return state, d, ErrMethodChanged
	case d.Contested || len(m.Contested) > 0:
		return state, d, fmt.Errorf("%w of the method", ErrContested)
	case d.Name == "":
		return state, d, document.Refuse(document.CodeMissing, "name", "a method needs a name")
	}
	return state, d, fitMethod(d.Definition)
}

// methodVersions reads from the journal which versions were in force.
func (o *Office) methodVersions(m *plant.Method, names map[string]string) ([]MethodVersion, error) {
	entries, err := o.store.History(m.ID)
	if err != nil {
		return nil, err
	}
	list := []MethodVersion{}
	var before, now methodText
	for _, e := range entries {
		c := &e.Change
		version, numbered := 0, false
		for _, x := range c.Set {
			switch x.Field {
			case "name":
				now.name = textOf(x.Value)
			case "definition":
				now.definition = x.Value
			case "cautions":
				now.cautions = nil
				_ = json.Unmarshal(x.Value, &now.cautions) // none if they cannot be read
			case "version":
				numbered = json.Unmarshal(x.Value, &version) == nil
			}
		}
		if !numbered {
			continue
		}
		v := MethodVersion{Version: version, At: c.Wall, By: Called(names, c.Author)}
		if a, ok := m.Approvals[version]; ok {
			v.By, v.Approved, v.Alone, v.Why, v.Note = Called(names, a.By), Called(names, a.Author), a.Alone, a.Why, a.Note
		}
		if v.Fields, err = methodDiffers(before, now); err != nil {
			return nil, err
		}
		before = now
		list = append(list, v)
	}
	slices.Reverse(list)
	return list, nil
}

// fitMethod refuses a definition by which no instrument could be tested; the fault names the
// member.
func fitMethod(definition json.RawMessage) error {
	broad := map[string]any{
		"low": "-1000000", "high": "1000000", "unit": "bar", "mode": "gauge",
		"limit": map[string]string{"rule": "terms", "of_span_percent": "1"},
	}
	in, err := json.Marshal(map[string]any{
		"method": definition, "instrument": broad, "captures": []any{}, "complete": false,
	})
	if err != nil {
		return err
	}
	var out struct {
		Error *struct{ Code, Field, Message string }
	}
	if err := json.Unmarshal(calc.Call("evaluate", in), &out); err != nil {
		return err
	}
	if e := out.Error; e != nil && strings.HasPrefix(e.Field, "method") {
		return document.Refuse(e.Code, "definition"+strings.TrimPrefix(e.Field, "method"), e.Message)
	}
	return nil
}
