package hub

import (
	"context"
	"encoding/json"
	"errors"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// anyForm is what a hub reads: it keeps what it does not know as bytes.
const anyForm = 1 << 30

// passingOn returns what phones here wrote in a form that this program cannot read, and how far
// that goes.
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

// passedDown keeps what came from above in a form that this program cannot read; phones that can
// are given it.
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
	r, err := h.store.Add(ctx, list)
	if err != nil {
		return err
	}
	for _, id := range r.Accepted {
		put[noteCame+id] = []byte{}
	}
	for i := range list {
		if why := r.Refused[list[i].ID]; why != nil {
			held = append(held, store.Held{Reason: fromOffice + why.Error(), Bytes: list[i].Bytes()})
		}
	}
	for _, one := range pass {
		switch err := h.store.Pass(one); {
		case errors.Is(err, store.ErrForged): // of other bytes than came here before under its id
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

// fromOffice begins the reason of what came from above and cannot be taken.
const fromOffice = "from the office: "

// readLater puts what passed through here into the journal, now that this program can read it: what
// the office has. What it has not answered yet goes on as bytes, and comes back from there.
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
			r, err := h.store.Add(ctx, []change.Change{c})
			if err != nil {
				return err
			}
			for _, id := range r.Accepted {
				put[noteCame+id] = []byte{}
			}
			if r.Refused[one.ID] == nil {
				if err := h.store.Passed(one); err != nil {
					return err
				}
			}
		}
	}
}

// unread returns what can be said of a change in a form that this program cannot read: whose it is
// and when it was written, where it says so as the changes of now do.
func (h *Hub) unread(id string) (c change.Change, ok bool, err error) {
	p, ok, err := h.store.PassingAs(id)
	if err != nil || !ok {
		return c, false, err
	}
	var said struct{ Author, Device, Wall, Record, Kind string }
	if json.Unmarshal(p.Bytes, &said) != nil {
		return c, false, nil
	}
	return change.Change{ID: id, Author: said.Author, Device: said.Device, Wall: said.Wall, Record: said.Record, Kind: said.Kind}, true, nil
}
