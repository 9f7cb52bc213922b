package hub

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
)

// group is what the office gave in one response. The changes lie in the journal here; this is the
// office's signature over them.
type group struct {
	Store string   `json:"store"`
	Given string   `json:"given"`
	IDs   []string `json:"ids"`
}

func groupKey(n uint64) string { return fmt.Sprintf("%016x", n) }

// keepGroup notes what the office gave, for the day when an older copy of it is restored.
func (h *Hub) keepGroup(st *State, p *link.Response) error {
	if p.Given == "" {
		return nil
	}
	g := group{Store: p.Store, Given: p.Given}
	for i := range p.Changes {
		g.IDs = append(g.IDs, p.Changes[i].ID)
	}
	for i := range p.Unread {
		g.IDs = append(g.IDs, p.Unread[i].ID)
	}
	b, err := json.Marshal(g)
	if err != nil {
		return err
	}
	st.Groups++
	return h.given.Put(groupKey(st.Groups), b)
}

// sentOf returns a change as it is sent: out of the journal, or one of a newer program as bytes.
func (h *Hub) sentOf(id string) (link.Sent, bool, error) {
	c, ok, err := h.store.Change(id)
	if err != nil || ok {
		return link.Sent{ID: id, Bytes: c.Bytes()}, ok, err
	}
	p, ok, err := h.store.PassingAs(id)
	return link.Sent{ID: id, Bytes: p.Bytes, Newer: true}, ok, err
}

// request begins a request from the hub's place.
func (h *Hub) request(st *State) (q link.Request, err error) {
	q = link.Request{
		Store: st.Store, Epoch: st.Epoch, Root: st.Root, Cursor: st.Cursor, Device: st.Device,
		Limit: link.MaxPull, Refused: &st.Refused, Protocol: link.Protocol, Reads: anyForm, Passing: st.Passing,
	}
	q.Nonce, err = change.NewID(h.random)
	return q, err
}

func (h *Hub) exchange(ctx context.Context, q *link.Request) (p link.Response, err error) {
	body, err := h.line.Exchange(ctx, q.Bytes())
	if err != nil {
		return p, err
	}
	return link.ReadResponse(body, q)
}

// giveBack offers the office the next group of what it gave before an older copy was restored. It
// asks first whether the office has them, since most are older than the copy.
func (h *Hub) giveBack(ctx context.Context, st *State) error {
	n, g, err := h.nextGroup(st)
	if err != nil {
		return err
	}
	if n == 0 {
		st.Back = 0
		return h.keep(*st, map[string][]byte{}, nil)
	}
	back := link.Back{Given: g.Given}
	whole := true
	for _, id := range g.IDs {
		one, ok, err := h.sentOf(id)
		if err != nil {
			return err
		}
		whole = whole && ok
		back.Changes = append(back.Changes, one)
	}
	if whole {
		p, err := h.lacks(ctx, st, g.IDs)
		if err == nil && p.lacking {
			p, err = h.bring(ctx, st, back)
		}
		if err != nil {
			return err
		}
		if p.again { // restored once more meanwhile
			return h.begin(&p.Response, st)
		}
	}
	st.Back = n + 1
	return h.keep(*st, map[string][]byte{}, nil)
}

// dropGroups drops what was offered again, after the office has given all anew.
func (h *Hub) dropGroups(st *State) error {
	var gone []string
	err := h.given.Each(func(k string, v []byte) error {
		var one group
		if err := json.Unmarshal(v, &one); err != nil {
			return fmt.Errorf("the hub's notes are damaged: %w", err)
		}
		if k <= groupKey(st.BackTo) && one.Store == st.Store { // another office may be returned to
			gone = append(gone, k)
		}
		return nil
	})
	if err != nil {
		return err
	}
	st.BackTo = 0
	return h.given.Batch(nil, gone)
}

// nextGroup returns the next group that is to be offered again, with its number; 0 for none.
func (h *Hub) nextGroup(st *State) (n uint64, g group, err error) {
	for at := st.Back; at <= st.BackTo; at++ {
		k, v, err := h.given.From(groupKey(at))
		if err != nil || k == "" {
			return 0, group{}, err
		}
		if at, err = strconv.ParseUint(k, 16, 64); err == nil {
			g = group{}
			err = json.Unmarshal(v, &g)
		}
		if err != nil {
			return 0, group{}, fmt.Errorf("the hub's notes are damaged: %w", err)
		}
		if g.Store == st.Store && at <= st.BackTo { // another office knows nothing of this signature
			return at, g, nil
		}
	}
	return 0, group{}, nil
}

type said struct {
	link.Response
	again, lacking bool
}

// lacks asks the office which of some changes it has.
func (h *Hub) lacks(ctx context.Context, st *State, ids []string) (said, error) {
	had := map[string]bool{}
	var last link.Response
	for from := 0; from < len(ids); from += link.MaxPush {
		q, err := h.request(st)
		if err != nil {
			return said{}, err
		}
		q.Has, q.Limit = ids[from:min(from+link.MaxPush, len(ids))], 1
		if last, err = h.exchange(ctx, &q); err != nil || last.Again {
			return said{last, last.Again, false}, err
		}
		for _, id := range last.Had {
			had[id] = true
		}
	}
	return said{last, false, len(had) < len(ids)}, nil
}

// bring sends a group; lacking is left where the office says nothing of one of its changes.
func (h *Hub) bring(ctx context.Context, st *State, back link.Back) (said, error) {
	q, err := h.request(st)
	if err != nil {
		return said{}, err
	}
	q.Back, q.Limit = []link.Back{back}, 1
	p, err := h.exchange(ctx, &q)
	if err != nil || p.Again {
		return said{p, p.Again, false}, err
	}
	answered := map[string]bool{}
	for _, id := range p.Acknowledged {
		answered[id] = true
	}
	lacking := false
	for i := range back.Changes {
		lacking = lacking || !answered[back.Changes[i].ID]
	}
	return said{p, false, lacking}, nil
}

// begin goes to the beginning: the office lost something, or is another one. Everything here is
// offered again, also what once came from there; what the office gave goes first, with its
// signature.
func (h *Hub) begin(p *link.Response, was *State) error {
	n, err := h.noted()
	if err != nil {
		return err
	}
	gone, blobs := []string{}, []string{}
	for id := range n.came {
		gone = append(gone, noteCame+id)
	}
	err = h.sent.Each(func(name string, _ []byte) error { blobs = append(blobs, name); return nil })
	if err == nil {
		err = h.sent.Batch(nil, blobs)
	}
	if err != nil {
		return err
	}
	st := State{Device: was.Device, Store: p.Store, Epoch: p.Epoch, Groups: was.Groups}
	if st.Groups > 0 {
		st.Back, st.BackTo = 1, st.Groups
	}
	return h.keep(st, map[string][]byte{}, gone)
}
