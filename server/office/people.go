package office

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// ErrPeopleAbove is returned by a hub asked to change a person's identity.
var ErrPeopleAbove = errors.New("a hub says nobody's full name; the office does")

// maxPerson is how many characters a full name or a function may have: what fits a line of a
// certificate.
const maxPerson = 80

// Identity is what certificates state about a person beside their account.
type Identity struct {
	Full     string `json:"full"`
	Function string `json:"function"` // "" if their role says it
}

// fit trims an identity and refuses one that cannot be printed; the fault names the field.
func (i *Identity) fit() error {
	for _, x := range []struct {
		field string
		text  *string
		least int
	}{{"full", &i.Full, 1}, {"function", &i.Function, 0}} {
		*x.text = strings.TrimSpace(*x.text)
		n := utf8.RuneCountInString(*x.text)
		unseen := strings.ContainsFunc(*x.text, func(r rune) bool { return !unicode.IsPrint(r) })
		if n < x.least || n > maxPerson || unseen {
			return document.Refuse(
				document.CodeRange, x.field,
				fmt.Sprintf("from %d to %d letters that can be seen, on one line", x.least, maxPerson),
			)
		}
	}
	return nil
}

// Identities returns the identities of the people on record, by id.
func (o *Office) Identities() (map[string]Identity, error) {
	people, err := o.store.ByKind("person", "", 0)
	if err != nil {
		return nil, err
	}
	who := map[string]Identity{}
	for _, one := range people {
		if p, err := plant.ReadPerson(one); err == nil {
			who[p.ID] = Identity{p.Name, p.Function}
		}
	}
	return who, nil
}

// IdentityOf returns a person's identity, as far as it is on record.
func (o *Office) IdentityOf(id string) (Identity, error) {
	state, ok, err := o.store.Record(id)
	if err != nil || !ok || state.Kind != "person" {
		return Identity{}, err
	}
	p, err := plant.ReadPerson(state)
	return Identity{p.Name, p.Function}, err
}

// Check trims an identity, and refuses what Identify would refuse.
func (o *Office) Check(who *Identity) error {
	if o.writer.seal.off {
		return ErrPeopleAbove
	}
	return who.fit()
}

// Identify sets a person's identity on certificates from now on. Issued ones stay as they are.
//
// Refuses: document.Fault with the field; ErrPeopleAbove at a hub.
func (o *Office) Identify(
	ctx context.Context, author string, user auth.User, who Identity, noted ...store.Step,
) error {
	if err := o.Check(&who); err != nil {
		return err
	}
	return o.person(ctx, author, user.ID, []plant.Set{
		{Field: "name", Value: who.Full},
		{Field: "function", Value: who.Function},
		{Field: "role", Value: user.Role},
	}, noted...)
}

// Ranked updates a person's record to the present role of their account. It makes no record if
// there is none.
func (o *Office) Ranked(ctx context.Context, author, id string, role auth.Role) error {
	_, ok, err := o.store.Record(id)
	if err != nil || !ok || o.writer.seal.off {
		return err
	}
	return o.person(ctx, author, id, []plant.Set{{Field: "role", Value: role}})
}

// person writes the fields that differ from a person's record.
func (o *Office) person(
	ctx context.Context, author, id string, said []plant.Set, noted ...store.Step,
) error {
	return o.writer.Write(ctx, author, func(p *plant.Drafter) ([]change.Change, error) {
		state, ok, err := o.store.Record(id)
		if err != nil {
			return nil, err
		}
		if !ok {
			state = merge.State{ID: id, Kind: "person"}
		}
		if state.Kind != "person" {
			return nil, fmt.Errorf("the record %q: %w", id, plant.ErrKind)
		}
		var other []plant.Set
		for _, x := range said {
			b, err := plant.Canonical(x.Value)
			if err != nil {
				return nil, err
			}
			was, written := state.Value(x.Field)
			if string(was) != string(b) && (written || string(b) != `""`) {
				other = append(other, x)
			}
		}
		if len(other) == 0 {
			return nil, nil
		}
		c, _, err := p.Edit(state, o.now(), other...)
		return []change.Change{c}, err
	}, noted...)
}
