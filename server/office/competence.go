package office

import (
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Authorisation is what a person is authorised for, as it is stored.
type Authorisation struct {
	ID       string   `json:"id"`
	Kind     string   `json:"kind"` // of work; "" for every kind
	May      []string `json:"may"`  // do, check, issue
	From     string   `json:"from"`
	Until    string   `json:"until"` // the last day; "" for no end
	Evidence string   `json:"evidence"`
	State    string   `json:"state"` // now: valid, soon (it ends within 60 days), ended, or later
}

// Competent is a person with their authorisations.
type Competent struct {
	ID     string          `json:"id"`
	Name   string          `json:"name"`
	Role   string          `json:"role"`
	Access bool            `json:"access"` // the account is active
	Has    []Authorisation `json:"has"`
}

// soonEnds is how many days before its end an authorisation is pointed out. Common practice, no
// source.
const soonEnds = 60

// maxEvidence is in characters: a reference to a file and a line about it.
const maxEvidence = 500

// Competences lists all people with an account and their authorisations.
func (o *Office) Competences() ([]Competent, error) {
	users, err := o.keeper.Users()
	if err != nil {
		return nil, err
	}
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	today := o.now().Format(time.DateOnly)
	soon := o.now().AddDate(0, 0, soonEnds).Format(time.DateOnly)
	list := []Competent{}
	for _, u := range users {
		one := Competent{ID: u.ID, Name: Called(names, u.ID), Role: string(u.Role), Access: !u.Revoked, Has: []Authorisation{}}
		state, ok, err := o.store.Record(u.ID)
		if err != nil {
			return nil, err
		}
		if ok {
			p, err := plant.ReadPerson(state)
			if err != nil && !Unreadable(err) {
				return nil, err
			}
			for _, c := range p.Competences {
				a := Authorisation{
					ID: c.ID, Kind: c.Kind, May: c.May, From: c.From, Until: c.Until, Evidence: c.Evidence, State: "valid",
				}
				switch {
				case c.Until != "" && c.Until < today:
					a.State = "ended"
				case c.From > today:
					a.State = "later"
				case c.Until != "" && c.Until <= soon:
					a.State = "soon"
				}
				one.Has = append(one.Has, a)
			}
		}
		list = append(list, one)
	}
	slices.SortFunc(list, func(a, b Competent) int {
		return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(a.ID, b.ID))
	})
	return list, nil
}

// fit refuses an authorisation that is not valid; the fault names the field.
func (a *Authorisation) fit() error {
	a.Evidence = strings.TrimSpace(a.Evidence)
	day := func(field, text string) error {
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			return document.Refuse(document.CodeRange, field, "a day such as 2026-03-04 is needed")
		}
		return nil
	}
	if len(a.May) == 0 {
		return document.Refuse(document.CodeMissing, "may", "say what they may do")
	}
	for _, m := range a.May {
		if !slices.Contains([]string{plant.MayDo, plant.MayCheck, plant.MayIssue}, m) {
			return document.Refuse(document.CodeRange, "may", "one of do, check and issue is needed")
		}
	}
	if err := day("from", a.From); err != nil {
		return err
	}
	if a.Until != "" {
		if err := day("until", a.Until); err != nil {
			return err
		}
		if a.Until < a.From {
			return document.Refuse(document.CodeRange, "until", "must not lie before the first day")
		}
	}
	if a.Evidence == "" || len(a.Evidence) > maxEvidence {
		return document.Refuse(
			document.CodeMissing, "evidence",
			fmt.Sprintf("name the evidence, in at most %d letters", maxEvidence),
		)
	}
	return nil
}

// Authorise stores an authorisation: a new one, or a new version of the one with an id. The earlier
// version stays in the history.
//
// Refuses: document.Fault with the field; ErrPeopleAbove at a hub; plant.ErrNotFound.
func (o *Office) Authorise(ctx context.Context, author, user, id string, a Authorisation) error {
	if err := a.fit(); err != nil {
		return err
	}
	return o.competence(ctx, author, user, id, plant.Competence{
		Kind: a.Kind, May: a.May, From: a.From, Until: a.Until, Evidence: a.Evidence,
	})
}

// Withdraw removes an authorisation; it stays in the history.
//
// Refuses: ErrPeopleAbove at a hub; plant.ErrNotFound.
func (o *Office) Withdraw(ctx context.Context, author, user, id string) error {
	return o.competence(ctx, author, user, id, nil)
}

func (o *Office) competence(ctx context.Context, author, user, id string, said any) error {
	if o.writer.seal.off {
		return ErrPeopleAbove
	}
	users, err := o.keeper.Users()
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(users, func(u auth.User) bool { return u.ID == user }) {
		return fmt.Errorf("the person %q %w", user, plant.ErrNotFound)
	}
	return o.writer.Write(ctx, author, func(p *plant.Drafter) ([]change.Change, error) {
		state, ok, err := o.store.Record(user)
		if err != nil {
			return nil, err
		}
		if !ok {
			state = merge.State{ID: user, Kind: "person"}
		}
		if id == "" {
			if id, err = change.NewID(rand.Reader); err != nil {
				return nil, err
			}
		} else if _, known := state.Value("competence." + id); !known {
			return nil, fmt.Errorf("the authorisation %q %w", id, plant.ErrNotFound)
		}
		c, _, err := p.Edit(state, o.now(), plant.Set{Field: "competence." + id, Value: said})
		return []change.Change{c}, err
	})
}
