package hub

import (
	"context"
	"encoding/json"
	"errors"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// anyForm lets a hub read every form of a change; it keeps what it does not know as bytes.
const anyForm = 1 << 30

// passingOn returns the changes of phones here in a form that this program cannot read, and the
// number that they go up to.
func (h *Hub) passingOn(st *State) (list []link.Sent, passed uint64, err error) {
	some, err := h.store.PassingAfter(st.Passed, maxSend, h.size)
	passed = st.Passed
	for i := range some {
		passed = some[i].Seq
		if !some[i].Above {
			list = append(list, link.Sent{ID: some[i].ID, Bytes: some[i].Bytes, Newer: true})
		}
	}
	return list, passed, err
}

// passedDown keeps changes from above in a form that this program cannot read, for phones that can
// read it.
func (h *Hub) passedDown(ctx context.Context, p *link.Response, put map[string][]byte) error {
	var pass []store.Passing
	var list []change.Change
	var held []store.Held
	for _, one := range p.Unread {
		pass = append(pass, store.Passing{ID: one.ID, Above: true, Bytes: one.Bytes})
	}
	for _, one := range p.Passing {
		switch {
		case one.Newer:
			pass = append(pass, store.Passing{ID: one.ID, Above: true, Bytes: one.Bytes})
		case one.Fault == nil:
			list = append(list, one.Change)
		default:
			held = append(held, store.Held{Reason: fromOffice + one.Fault.Error(), Bytes: one.Bytes})
		}
	}
	refused, err := h.came(ctx, list, put)
	if err != nil {
		return err
	}
	held = append(held, aside(list, refused)...)
	for _, one := range pass {
		switch err := h.store.Pass(one); {
		case errors.Is(err, store.ErrForged): // its bytes differ from those that came here before under this id
			held = append(held, store.Held{Reason: fromOffice + err.Error(), Bytes: one.Bytes})
		case err != nil:
			return err
		}
	}
	if len(held) == 0 {
		return nil
	}
	return h.store.Quarantine(held...)
}

// fromOffice begins the reason for a change from above that cannot be taken.
const fromOffice = "from the office: "

// takeLater takes in what came from a newer office before this program was updated, and what an
// earlier version held back of it. It does so once.
func (h *Hub) takeLater(ctx context.Context, put map[string][]byte) error {
	if h.looked {
		return nil
	}
	for after, more := uint64(0), true; more; {
		held, rest, err := h.store.HeldAfter(after, maxSend, h.size, false)
		if err != nil {
			return err
		}
		more = rest > 0 && len(held) > 0
		for i := range held {
			after = held[i].Seq
			c, err := change.Parse(held[i].Bytes)
			if err != nil || held[i].Reason != fromNewer {
				continue
			}
			closed := func() error {
				return h.store.CloseHeld(held[i].Seq, store.Closing{How: store.ClosedArrived})
			}
			if err := h.readable(ctx, c, put, closed); err != nil {
				return err
			}
		}
	}
	h.looked = true
	return h.readLater(ctx, put)
}

// readable puts a change into the journal that could not be read when it came from the office, and
// then calls done. A refused change stays where it is.
func (h *Hub) readable(
	ctx context.Context, c change.Change, put map[string][]byte, done func() error,
) error {
	refused, err := h.came(ctx, []change.Change{c}, put)
	if err != nil || refused[c.ID] != nil {
		return err
	}
	return done()
}

// readLater puts changes of newer programs into the journal now that this program can read them, if
// the office has them. Changes that the office has not answered yet go on as bytes and come back
// from there.
func (h *Hub) readLater(ctx context.Context, put map[string][]byte) error {
	for after := uint64(0); ; {
		some, err := h.store.PassingAfter(after, maxSend, h.size)
		if err != nil || len(some) == 0 {
			return err
		}
		after = some[len(some)-1].Seq
		for _, one := range some {
			c, err := change.Parse(one.Bytes)
			if err != nil {
				continue
			}
			_, there, err := h.store.Change(one.ID)
			if err != nil {
				return err
			}
			if !there && !one.Above {
				continue
			}
			passed := func() error { return h.store.Passed(one) }
			if err := h.readable(ctx, c, put, passed); err != nil {
				return err
			}
		}
	}
}

// unread returns what can be said of a change in an unknown form: its author and its time, if it
// names them as today's changes do.
func (h *Hub) unread(id string) (c change.Change, ok bool, err error) {
	p, ok, err := h.store.PassingAs(id)
	if err != nil || !ok {
		return c, false, err
	}
	var said struct{ Author, Device, Wall, Record, Kind string }
	if json.Unmarshal(p.Bytes, &said) != nil {
		return c, false, nil
	}
	return change.Change{
		ID: id, Author: said.Author, Device: said.Device, Wall: said.Wall,
		Record: said.Record, Kind: said.Kind,
	}, true, nil
}
