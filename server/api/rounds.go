package api

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"

	"github.com/labstack/echo/v4"
)

// maxStops and maxTitle bound a round to what a person can do and read.
const (
	maxStops = 200
	maxTitle = 200
)

// colleague is somebody whom work can be planned for.
type colleague struct {
	ID    string    `json:"id"`
	Name  string    `json:"name"`
	Role  auth.Role `json:"role"`
	Sites []string  `json:"sites"` // of which alone they are given the records; none for all
}

// colleagues lists everybody with access, for whoever plans their work.
func (s *server) colleagues(c echo.Context) error {
	users, err := s.Keeper.Users()
	if err != nil {
		return err
	}
	names, err := s.names()
	if err != nil {
		return err
	}
	list := []colleague{}
	for _, u := range users {
		if u.Revoked || u.Role == auth.Hub {
			continue
		}
		one := colleague{u.ID, called(names, u.ID), u.Role, []string{}}
		if u.Limited() {
			one.Sites = u.Sites
		}
		list = append(list, one)
	}
	slices.SortStableFunc(list, func(a, b colleague) int { return cmp.Compare(a.Name, b.Name) })
	return c.JSON(http.StatusOK, map[string]any{"people": list})
}

// planning watches one push for changes of rounds: a round that nobody can follow is put aside.
type planning struct {
	*server
	come map[string]string // records that this push brought: their kinds
}

func (s *server) plans() *planning { return &planning{s, map[string]string{}} }

// judge refuses a round without a date, a person with access and known stops; the first field that is wrong is named. A change that the record has already is not judged
// again, since who has access may be others by then.
func (p *planning) judge(c *change.Change) error {
	p.come[c.Record] = c.Kind
	if c.Kind != "round" {
		return nil
	}
	state, known, err := p.Store.Record(c.Record)
	if err != nil {
		return err
	}
	written := map[string]bool{}
	for _, set := range c.Set {
		if f, ok := state.Field(set.Field); ok && (slices.ContainsFunc(f.Heads, func(h merge.Head) bool { return h.Change == c.ID }) || slices.Contains(f.Replaced, c.ID)) {
			return nil
		}
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
			return errDate
		}
	case "person":
		return p.person(textOf(set.Value))
	case "title":
		if t := textOf(set.Value); strings.TrimSpace(t) == "" || len(t) > maxTitle {
			return fmt.Errorf("a text of at most %d bytes", maxTitle)
		}
	case "stops":
		return p.stops(set.Value)
	case "taken_back":
		var back *struct{ Reason string }
		if err := json.Unmarshal(set.Value, &back); err != nil || back != nil && (strings.TrimSpace(back.Reason) == "" || len(back.Reason) > maxRemark) {
			return errors.New("it has a reason, or is null where the round is planned again")
		}
	}
	return nil
}

func (p *planning) person(id string) error {
	users, err := p.Keeper.Users()
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
	if len(list) == 0 || len(list) > maxStops {
		return fmt.Errorf("from 1 to %d stops", maxStops)
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

// is says whether a record is of one of the kinds, in the store or in this push.
func (p *planning) is(id string, kinds ...string) (bool, error) {
	if slices.Contains(kinds, p.come[id]) {
		return true, nil
	}
	state, ok, err := p.Store.Record(id)
	return ok && slices.Contains(kinds, state.Kind), err
}
