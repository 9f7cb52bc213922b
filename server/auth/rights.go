package auth

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// MayWrite says why a user of a role may not write a change, or nil.
func MayWrite(u User, c *change.Change) error {
	if c.Author != u.ID {
		return errors.New("the change names another author")
	}
	if u.Role == Hub {
		return errors.New("a hub writes nothing of its own")
	}
	if u.Role == Administrator || u.Role == Reviewer && c.Kind != "person" && c.Kind != "site" {
		return nil
	}
	for _, s := range c.Set {
		name, _, _ := strings.Cut(s.Field, ".")
		if !slices.Contains(technicians[c.Kind], name) &&
			!(slices.Contains(technicians[c.Kind], "*") && !plant.OfficeField(name)) {
			return fmt.Errorf("a %s may not write the field %s of a record of kind %s", u.Role, s.Field, c.Kind)
		}
		if c.Kind == "method" && s.Field != "draft."+u.ID {
			return fmt.Errorf("a %s may write a draft of their own only, not the field %s of a method", u.Role, s.Field)
		}
	}
	return nil
}

// decided refuses a decision of the office that a person brings: approving and returning go through
// the office's own routes, which hold them against what was signed. A hub brings decisions that
// were made by those routes.
func decided(c *change.Change) error {
	if err := issued(c); err != nil {
		return err
	}
	for _, s := range c.Set {
		if c.Kind == "visit" && plant.OfficeField(s.Field) || merge.Erases(s.Field) != "" {
			return fmt.Errorf("the field %s is written by the office's own routes only", s.Field)
		}
	}
	return nil
}

// issued refuses a certificate that anybody brings, a hub too: its number is the office's, and its
// document is drawn where it is approved. Results of the past would be made up as easily.
func issued(c *change.Change) error {
	if c.Kind == "certificate" {
		return errors.New("a certificate is written by the office's own routes only")
	}
	if c.Kind == "lookback" {
		return errors.New("a look-back is written by the office's own routes only")
	}
	if c.Kind == "result" {
		return errors.New("results of the past are brought in at the office only")
	}
	return nil
}

// Judge returns what says by whose account a change is judged, and why a sender may not bring it,
// or nil. A person brings their own; a hub brings everybody's, each judged by its author's account
// here, so that a hub's account is to be trusted as much as its users together.
func (k *Keeper) Judge(sender User) (func(*change.Change) (User, error), error) {
	if sender.Role != Hub {
		return func(c *change.Change) (User, error) {
			if err := MayWrite(sender, c); err != nil {
				return sender, err
			}
			return sender, decided(c)
		}, nil
	}
	list, err := k.Users()
	if err != nil {
		return nil, err
	}
	accounts := map[string]User{}
	for _, u := range list {
		accounts[u.ID] = u
	}
	return func(c *change.Change) (User, error) {
		u, known := accounts[c.Author]
		switch {
		case !known:
			return u, errors.New("its author has no account here")
		case u.Revoked:
			return u, ErrRevoked
		}
		if err := issued(c); err != nil {
			return u, err
		}
		return u, MayWrite(u, c)
	}, nil
}

// JudgeFile returns what says the same of a change out of a file that somebody of the office
// brings: each is judged by its author's account, and the office's decisions are not taken from a
// file.
func (k *Keeper) JudgeFile() (func(*change.Change) (User, error), error) {
	judge, err := k.Judge(User{Role: Hub})
	if err != nil {
		return nil, err
	}
	return func(c *change.Change) (User, error) {
		u, err := judge(c)
		if err != nil {
			return u, err
		}
		return u, decided(c)
	}, nil
}

// technicians lists the fields a technician may write, by kind; * is every field but the office's.
var technicians = map[string][]string{
	"visit": {"*"}, "run": {"*"}, "instrument": {"place", "note", "message", "seen"}, "method": {"draft"},
	"key": {"public", "ended"},
}
