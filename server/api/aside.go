package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"

	"github.com/labstack/echo/v4"
)

const (
	// maxAside and maxAsideBytes bound one answer; the rest appears as these are dealt with.
	maxAside      = 200
	maxAsideBytes = 4 << 20
	// maxAsideValue is the longest value that is shown, maxAsideSent the longest change that is
	// sent in full.
	maxAsideValue = 400
	maxAsideSent  = 256 << 10
)

var (
	errDealt    = errors.New("this entry is closed already")
	errNotTaken = errors.New("it still cannot be accepted")
	errWhy      = errors.New("say why")
)

// aside is a quarantined change in readable form.
type aside struct {
	Seq    uint64           `json:"seq"`
	Reason string           `json:"reason"`
	Author string           `json:"author"`
	From   string           `json:"from"` // who pushed it, if not the author; else ""
	Device string           `json:"device"`
	Wall   string           `json:"wall"`
	Record string           `json:"record"`
	Visit  string           `json:"visit"` // the visit that it belongs to, "" for none
	Tag    string           `json:"tag"`   // of the instrument, if it is known
	Kind   string           `json:"kind"`
	Set    []office.PastSet `json:"set"`
	Sent   json.RawMessage  `json:"sent"` // the whole change, if it is readable and short; else null
	Bytes  int              `json:"bytes"`
	Closed *store.Closing   `json:"closed"`
}

// quarantine lists the open entries of the quarantine, oldest first; with closed=1 also the closed
// ones. after is the number to continue from.
func (s *server) quarantine(c echo.Context) error {
	after := uint64(0)
	if text := c.QueryParam("after"); text != "" {
		var err error
		if after, err = strconv.ParseUint(text, 10, 64); err != nil {
			return document.Refuse(document.CodeRange, "after", "is the number of an entry")
		}
	}
	held, rest, err := s.Store.HeldAfter(after, maxAside, maxAsideBytes, c.QueryParam("closed") == "1")
	if err != nil {
		return err
	}
	names, err := s.office.Names()
	if err != nil {
		return err
	}
	list, items := []aside{}, map[string]string{} // tags by visit, for visits that are quarantined as a whole
	for i := range held {
		h := &held[i]
		a := aside{
			Seq: h.Seq, Reason: h.Reason, Set: []office.PastSet{}, Sent: json.RawMessage("null"),
			Bytes: len(h.Bytes), Closed: h.Closed,
		}
		if h.From != "" && h.From != h.Author {
			a.From = office.Called(names, h.From)
		}
		if h.Closed != nil && h.Closed.By != "" {
			a.Closed.By = office.Called(names, h.Closed.By)
		}
		if one, err := change.Parse(h.Bytes); err == nil {
			a.read(&one, names, items)
			if len(h.Bytes) <= maxAsideSent {
				a.Sent = h.Bytes
			}
		}
		list = append(list, a)
	}
	for i := range list {
		if list[i].Tag, err = s.tagOf(&list[i], items); err != nil {
			return err
		}
	}
	return c.JSON(http.StatusOK, map[string]any{"quarantined": list, "more": rest})
}

func (a *aside) read(c *change.Change, names, items map[string]string) {
	a.Author, a.Device, a.Wall, a.Record, a.Kind = office.Called(names, c.Author), c.Device, c.Wall, c.Record, c.Kind
	switch c.Kind {
	case "visit":
		a.Visit = c.Record
	case "run":
		a.Visit = c.Parent
	}
	for _, x := range c.Set {
		one := office.PastSet{
			Field: x.Field, Value: json.RawMessage("null"), Bytes: len(x.Value), First: len(x.Sees) == 0,
			Before: json.RawMessage("null"),
		}
		if len(x.Value) <= maxAsideValue {
			one.Value = json.RawMessage(x.Value)
		}
		a.Set = append(a.Set, one)
		var item struct{ Tag string }
		if c.Kind == "visit" && x.Field == "item" && json.Unmarshal(x.Value, &item) == nil && item.Tag != "" {
			items[c.Record] = item.Tag
		}
	}
}

// tagOf returns the tag of the instrument that an entry is about, or "".
func (s *server) tagOf(a *aside, items map[string]string) (string, error) {
	if a.Visit != "" {
		if tag := items[a.Visit]; tag != "" {
			return tag, nil
		}
		v, err := plant.LoadVisit(s.Store, a.Visit)
		if errors.Is(err, plant.ErrNotFound) || errors.Is(err, plant.ErrValue) || errors.Is(err, plant.ErrKind) {
			return "", nil
		}
		items[a.Visit] = v.Item.Tag
		return v.Item.Tag, err
	}
	if a.Kind != "instrument" {
		return "", nil
	}
	v, err := plant.LoadInstrument(s.Store, a.Record)
	if errors.Is(err, plant.ErrNotFound) || errors.Is(err, plant.ErrValue) || errors.Is(err, plant.ErrKind) {
		return v.Tag, nil
	}
	return v.Tag, err
}

// deciding reads who decides about which entry, and why.
func (s *server) deciding(c echo.Context) (h store.Held, closing store.Closing, err error) {
	u, ok := c.Get("user").(auth.User)
	if !ok {
		return h, closing, auth.ErrToken
	}
	var in struct {
		Reason string `json:"reason"`
	}
	if err := decode(c, &in); err != nil {
		return h, closing, err
	}
	in.Reason = strings.TrimSpace(in.Reason)
	if in.Reason == "" || len(in.Reason) > office.MaxRemark {
		return h, closing, errWhy
	}
	seq, err := strconv.ParseUint(c.Param("id"), 10, 64)
	if err != nil {
		return h, closing, echo.ErrNotFound
	}
	if h, err = s.Store.HeldAt(seq); err != nil {
		return h, closing, err
	}
	if h.Closed != nil && h.Closed.How != store.ClosedRejected {
		return h, closing, errDealt
	}
	return h, store.Closing{By: u.ID, At: s.Now().UTC().Format(time.RFC3339), Why: in.Reason}, nil
}

// takeAside accepts what was quarantined by mistake, judged by its author's account as it is now.
func (s *server) takeAside(c echo.Context) error {
	h, closing, err := s.deciding(c)
	if err != nil {
		return err
	}
	if h.Change == "" {
		return fmt.Errorf("%w: it cannot be read", errNotTaken)
	}
	side, err := s.authors(c, h.From)
	if err != nil {
		return err
	}
	p, err := side.Reconsider(c.Request().Context(), []store.Held{h})
	if err != nil {
		return err
	}
	for _, one := range p.Quarantined {
		return fmt.Errorf("%w: %s", errNotTaken, one.Reason)
	}
	closing.How = store.ClosedTaken
	noted := s.noting(c, "quarantine_taken", h.Author, "entry "+c.Param("id")+": "+closing.Why)
	return s.answered(c, s.Store.CloseHeld(h.Seq, closing, noted))
}

// rejectAside closes an entry for good and tells its author.
func (s *server) rejectAside(c echo.Context) error {
	h, closing, err := s.deciding(c)
	if err != nil {
		return err
	}
	closing.How = store.ClosedRejected
	noted := s.noting(c, "quarantine_rejected", h.Author, "entry "+c.Param("id")+": "+closing.Why)
	return s.answered(c, s.Store.CloseHeld(h.Seq, closing, noted))
}

// authors is an exchange in which each change is judged by its author's account. It takes decisions
// of the office from a hub only, whose own routes made them.
func (s *server) authors(c echo.Context, from string) (link.Side, error) {
	hub, err := s.isHub(from)
	if err != nil {
		return link.Side{}, err
	}
	judge, err := s.Keeper.JudgeFile()
	if hub && err == nil {
		judge, err = s.Keeper.Judge(auth.User{ID: from, Role: auth.Hub})
	}
	if err != nil {
		return link.Side{}, err
	}
	return s.side(c, judge, nil), nil
}

func (s *server) isHub(id string) (bool, error) {
	users, err := s.Keeper.Users()
	if err != nil {
		return false, err
	}
	for _, u := range users {
		if u.ID == id {
			return u.Role == auth.Hub && !u.Revoked, nil
		}
	}
	return false, nil
}

// reconsider judges again what is quarantined of an author whose account has changed or who has
// logged in. It covers only what the author or a hub pushed. The office has to decide on what
// another person pushed in the author's name.
func (s *server) reconsider(c echo.Context, author string) {
	if err := s.reconsiderAll(c, author); err != nil && !errors.Is(err, context.Canceled) {
		failed(c, err) // it stays quarantined
	}
}

func (s *server) reconsiderAll(c echo.Context, author string) error {
	for after := uint64(0); ; {
		list, err := s.Store.HeldBy(author, after, maxAside, maxAsideBytes)
		if err != nil || len(list) == 0 {
			return err
		}
		after = list[len(list)-1].Seq
		for len(list) > 0 {
			n := 1
			for n < len(list) && list[n].From == list[0].From {
				n++
			}
			from := list[0].From
			hub, err := s.isHub(from)
			if err != nil {
				return err
			}
			if from == author || hub {
				side, err := s.authors(c, from)
				if err != nil {
					return err
				}
				if !hub {
					side.Judge = s.ofOwnDevices(auth.User{ID: author}, side.Judge)
				}
				if _, err := side.Reconsider(c.Request().Context(), list[:n]); err != nil {
					return err
				}
			}
			list = list[n:]
		}
	}
}

// refusals returns what a user needs to know about their refused changes, here or above a hub. A
// hub gets all refusals of what it pushed.
func (s *server) refusals(u auth.User) ([]link.Held, error) {
	read, of := s.Store.Refusals, func(c *change.Change) bool { return c.Author == u.ID }
	if u.Role == auth.Hub {
		read, of = s.Store.RefusalsFrom, func(*change.Change) bool { return true }
	}
	list, err := read(u.ID, link.MaxRefusals)
	if err != nil {
		return nil, err
	}
	var refused []link.Held
	for _, one := range list {
		refused = append(refused, link.Held(one))
	}
	if s.Refused == nil {
		return refused, nil
	}
	above, err := s.Refused()
	for i := range above {
		if c := &above[i].Change; len(refused) < link.MaxRefusals && of(c) {
			refused = append(refused, link.Held{ID: c.ID, Reason: "at the office: " + above[i].Reason})
		}
	}
	return refused, err
}
