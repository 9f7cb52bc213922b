package office

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/rounds"
	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Colleague is a person for whom work can be planned.
type Colleague struct {
	ID    string    `json:"id"`
	Name  string    `json:"name"`
	Role  auth.Role `json:"role"`
	Sites []string  `json:"sites"` // the only sites whose records they receive; none means all
}

// Colleagues lists all people with access, for planning their work.
func (o *Office) Colleagues() ([]Colleague, error) {
	users, err := o.keeper.Users()
	if err != nil {
		return nil, err
	}
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	list := []Colleague{}
	for _, u := range users {
		if u.Revoked || u.Role == auth.Hub {
			continue
		}
		one := Colleague{u.ID, Called(names, u.ID), u.Role, []string{}}
		if u.Limited() {
			one.Sites = u.Sites
		}
		list = append(list, one)
	}
	slices.SortStableFunc(list, func(a, b Colleague) int { return cmp.Compare(a.Name, b.Name) })
	return list, nil
}

// planning judges changes of rounds: one that nobody could follow goes to quarantine.
type planning struct {
	*Office
	view recordSource
}

// recordSource reads records: from the store, or from its view in a transaction.
type recordSource interface {
	Record(id string) (merge.State, bool, error)
}

// ofRound refuses a round without a date, a person with access and known stops; it names the first
// wrong field.
func (o *Office) ofRound(v recordSource, c *change.Change) error {
	p := &planning{o, v}
	_, known, err := v.Record(c.Record)
	if err != nil {
		return err
	}
	written := map[string]bool{}
	for _, set := range c.Set {
		if err := p.field(set); err != nil {
			return fmt.Errorf("%s: %w", set.Field, err)
		}
		written[set.Field] = true
	}
	if known {
		return nil
	}
	for _, name := range []string{"date", "person", "stops"} {
		if !written[name] {
			return fmt.Errorf("%s: a round begins with it", name)
		}
	}
	return nil
}

func (p *planning) field(set change.Setting) error {
	switch set.Field {
	case "date":
		if _, err := time.Parse(time.DateOnly, textOf(set.Value)); err != nil {
			return ErrDate
		}
	case "person":
		return p.person(textOf(set.Value))
	case "title":
		if t := textOf(set.Value); strings.TrimSpace(t) == "" || len(t) > rounds.LongestTitle {
			return fmt.Errorf("a text of at most %d bytes", rounds.LongestTitle)
		}
	case "stops":
		return p.stops(set.Value)
	case "taken_back":
		var back *struct{ Reason string }
		if err := json.Unmarshal(set.Value, &back); err != nil || back != nil &&
			(strings.TrimSpace(back.Reason) == "" || len(back.Reason) > MaxRemark) {
			return errors.New("it has a reason, or is null where the round is planned again")
		}
	}
	return nil
}

func (p *planning) person(id string) error {
	users, err := p.keeper.Users()
	if err != nil {
		return err
	}
	at := slices.IndexFunc(users, func(u auth.User) bool { return u.ID == id })
	switch {
	case id == "" || at < 0 || users[at].Role == auth.Hub:
		return errors.New("nobody here has this id")
	case users[at].Revoked:
		return errors.New("the access of this person was ended")
	}
	return nil
}

func (p *planning) stops(value []byte) error {
	var list []plant.Stop
	if err := json.Unmarshal(value, &list); err != nil {
		return errors.New("a list of {instrument, method}")
	}
	if len(list) == 0 || len(list) > rounds.MostStops {
		return fmt.Errorf("from 1 to %d stops", rounds.MostStops)
	}
	seen := map[string]bool{}
	for i, stop := range list {
		if seen[stop.Instrument] {
			return fmt.Errorf("stop %d: its instrument is a stop already", i+1)
		}
		seen[stop.Instrument] = true
		if ok, err := p.is(stop.Instrument, "instrument", "standard"); err != nil || !ok {
			return cmp.Or(err, fmt.Errorf("stop %d: no instrument has the id %q", i+1, stop.Instrument))
		}
		if stop.Method == "" {
			continue
		}
		if ok, err := p.is(stop.Method, "method"); err != nil || !ok {
			return cmp.Or(err, fmt.Errorf("stop %d: no method has the id %q", i+1, stop.Method))
		}
	}
	return nil
}

// is reports whether a record is of one of the kinds.
func (p *planning) is(id string, kinds ...string) (bool, error) {
	state, ok, err := p.view.Record(id)
	return ok && slices.Contains(kinds, state.Kind), err
}
