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

// MayWrite returns why a user may not write a change, or nil.
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

// decided refuses a decision of the office that a person pushes. Approving and returning go through
// the office's own routes, which check them against what was signed. A hub forwards decisions that
// those routes made.
func decided(c *change.Change) error {
	if err := issued(c); err != nil {
		return err
	}
	if plant.PutsInForce(c) {
		return errors.New("a method comes into force by the office's own route; write a draft of it")
	}
	for _, s := range c.Set {
		if c.Kind == "visit" && plant.OfficeField(s.Field) || merge.Erases(s.Field) != "" {
			return fmt.Errorf("the field %s is written by the office's own routes only", s.Field)
		}
	}
	return nil
}

// issued refuses a certificate that anyone pushes, a hub too: the office gives the number and draws
// the document on approval. It refuses past results as well, which could be invented as easily.
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

// Judge returns a function that gives the account by which a change is judged, and why sender may
// not push it, or nil. A person pushes their own changes. A hub pushes everybody's, each judged by
// its author's account here, so a hub's account needs as much trust as all its users together.
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

// JudgeFile returns the same function for changes that office staff import from a file. Each is
// judged by its author's account, and decisions of the office are refused.
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

// technicians lists the fields a technician may write, by kind; * means every field that is not the
// office's.
var technicians = map[string][]string{
	"visit": {"*"}, "run": {"*"}, "instrument": {"place", "note", "message", "seen"}, "method": {"draft"},
	"key": {"public", "ended"},
}
