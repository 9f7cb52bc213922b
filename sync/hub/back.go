package hub

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// group is what the office sent in one response. The changes themselves are in the journal here;
// the group adds the office's signature over them.
type group struct {
	Store string   `json:"store"`
	Given string   `json:"given"`
	IDs   []string `json:"ids"`
	// Leaves has those of changes as they were given, by their id, where the tree here has another one
	// or none: values were erased before they were given, or they were not taken here.
	Leaves map[string]string `json:"leaves,omitempty"`
}

func groupKey(n uint64) string { return fmt.Sprintf("%016x", n) }

// keepGroup records what the office sent, in case an older copy of the office is restored. It is
// there before the changes are: of a hub that is cut off in between, an office that is restored then
// would have no proof of them. Once they were taken it is called again, with the number before.
func (h *Hub) keepGroup(st *State, p *link.Response, taken bool) error {
	if p.Given == "" {
		return nil
	}
	g := group{Store: p.Store, Given: p.Given}
	for i := range p.Changes {
		g.IDs = append(g.IDs, p.Changes[i].ID)
	}
	here, err := h.store.Leaves(g.IDs)
	if err != nil {
		return err
	}
	for i := range p.Changes {
		known, there := here[p.Changes[i].ID]
		if leaf := journal.Leaf(p.Changes[i].Bytes()); known != leaf && (there || taken) {
			if g.Leaves == nil {
				g.Leaves = map[string]string{}
			}
			g.Leaves[p.Changes[i].ID] = hex.EncodeToString(leaf[:])
		}
	}
	for i := range p.Unread {
		g.IDs = append(g.IDs, p.Unread[i].ID)
	}
	b, err := json.Marshal(g)
	if err != nil {
		return err
	}
	number, found, err := h.numberOf(st.Groups, p.Given)
	if err != nil {
		return err
	}
	st.Groups = number
	if string(found) == string(b) {
		return nil
	}
	return h.given.Put(groupKey(number), b)
}

// numberOf returns the number under which a group is kept, and what is there. Behind the last one that
// the state counts there may be others: a hub that was cut off kept them, and not yet its state.
func (h *Hub) numberOf(last uint64, given string) (number uint64, found []byte, err error) {
	for number = last; ; {
		k, v, err := h.given.From(groupKey(number + 1))
		if err != nil || k == "" {
			return number + 1, nil, err
		}
		var one group
		if number, err = strconv.ParseUint(k, 16, 64); err == nil {
			err = json.Unmarshal(v, &one)
		}
		if err != nil {
			return 0, nil, fmt.Errorf("the hub's notes are damaged: %w", err)
		}
		if given != "" && one.Given == given {
			return number, v, nil
		}
	}
}

// sentOf returns a change as it is sent: from the journal, or as bytes if a newer program wrote it.
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

// giveBack offers the office the next group that it sent before an older copy was restored. It
// first asks which changes the office has, since most are older than the copy.
func (h *Hub) giveBack(ctx context.Context, st *State) error {
	n, g, err := h.nextGroup(st)
	if err != nil {
		return err
	}
	if n == 0 {
		st.Back = 0
		return h.keep(*st, map[string][]byte{}, nil)
	}
	back, erased, known, err := h.asGiven(&g)
	if err != nil {
		return err
	}
	if known && len(back.Changes) > 0 {
		p, err := h.lacks(ctx, st, g.IDs)
		if err == nil && p.lacking && len(erased) > 0 {
			p, err = h.bringErasures(ctx, st, n, erased)
		}
		if err == nil && p.lacking && !p.again {
			p, err = h.bring(ctx, st, back)
		}
		if err != nil {
			return err
		}
		if p.again { // restored once more in the meantime
			return h.begin(&p.Response, st)
		}
	}
	st.Back = n + 1
	return h.keep(*st, map[string][]byte{}, nil)
}

// asGiven returns a group as it is brought back: each change as it was given, or what is left of it
// where values of it were erased since, with its leaf. Which changes say that they were erased is
// returned beside it. known is left where of some change neither is here.
func (h *Hub) asGiven(g *group) (back link.Back, erased []string, known bool, err error) {
	here, err := h.store.Leaves(g.IDs)
	if err != nil {
		return back, nil, false, err
	}
	back.Given, known = g.Given, true
	for _, id := range g.IDs {
		one, ok, err := h.sentOf(id)
		if err != nil {
			return back, nil, false, err
		}
		leaf, noted := here[id]
		if was, err := hex.DecodeString(g.Leaves[id]); err == nil && len(was) == len(leaf) {
			leaf, noted = journal.Hash(was), true
		}
		switch {
		case ok && (!noted || leaf == journal.Leaf(one.Bytes)):
			back.Changes = append(back.Changes, one)
			if !merge.ShowsErasure(one.Bytes) {
				continue
			}
			// It was given as what was left of it, and its erasure after it.
			by, err := h.erasureOf(id)
			if err != nil {
				return back, nil, false, err
			}
			if by != "" {
				erased = append(erased, by)
			}
		case noted:
			back.Was = append(back.Was, link.Was{Change: id, Leaf: leaf})
			by, err := h.erasureOf(id)
			if err != nil {
				return back, nil, false, err
			}
			if by != "" {
				back.Changes, erased = append(back.Changes, one), append(erased, by)
			}
		default:
			known = false
		}
	}
	return back, erased, known, nil
}

// erasureOf returns the change by which the office says what was left of another one, "" for none.
func (h *Hub) erasureOf(id string) (string, error) {
	c, ok, err := h.store.Change(id)
	if err != nil || !ok {
		return "", err
	}
	state, _, err := h.store.Record(c.Record)
	if err != nil {
		return "", err
	}
	f, ok := state.Field(store.ErasureField(id))
	if !ok || len(f.Heads) == 0 {
		return "", nil
	}
	return f.Heads[0].Change, nil
}

// bringErasures brings what says of some changes that values were erased of them, out of the groups
// that these came in later, so that the office knows what is left of the others when it comes.
func (h *Hub) bringErasures(ctx context.Context, st *State, from uint64, erasures []string) (p said, err error) {
	p.lacking = true
	at := *st
	for at.Back = from; len(erasures) > 0; at.Back++ {
		n, g, err := h.nextGroup(&at)
		if err != nil || n == 0 {
			return p, err
		}
		at.Back = n
		if !slices.ContainsFunc(g.IDs, func(id string) bool { return slices.Contains(erasures, id) }) {
			continue
		}
		whole, _, known, err := h.asGiven(&g)
		if err != nil {
			return p, err
		}
		if !known {
			continue
		}
		one := link.Back{Given: whole.Given, Was: whole.Was}
		for i := range whole.Changes {
			switch c := &whole.Changes[i]; {
			case whole.IsLeft(c.ID):
			case slices.Contains(erasures, c.ID):
				one.Changes = append(one.Changes, *c)
			default:
				one.Was = append(one.Was, link.Was{Change: c.ID, Leaf: journal.Leaf(c.Bytes)})
			}
		}
		if len(one.Changes) == 0 {
			continue
		}
		if p, err = h.bring(ctx, st, one); err != nil || p.again {
			return p, err
		}
		p.lacking = true
		erasures = slices.DeleteFunc(erasures, func(id string) bool {
			return slices.ContainsFunc(one.Changes, func(c link.Sent) bool { return c.ID == id })
		})
	}
	return p, nil
}

// dropGroups drops what was offered again, after the office has given all anew.
func (h *Hub) dropGroups(st *State) error {
	var gone []string
	err := h.given.Each(func(k string, v []byte) error {
		var one group
		if err := json.Unmarshal(v, &one); err != nil {
			return fmt.Errorf("the hub's notes are damaged: %w", err)
		}
		if k <= groupKey(st.BackTo) && one.Store == st.Store { // the plant may return to another office
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

// nextGroup returns the next group to offer again with its number, which is 0 if there is none.
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
		if g.Store == st.Store && at <= st.BackTo { // this signature means nothing to another office
			return at, g, nil
		}
	}
	return 0, group{}, nil
}

type said struct {
	link.Response
	again, lacking bool
}

// lacks asks which of some changes the office does not have.
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

// bring sends a group. lacking stays as it is if the office does not mention one of its changes.
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

// begin starts again from the journal's beginning: the office lost something, or is another one.
// The hub offers everything here again, including what once came from the office. What the office
// sent goes first, with its signature.
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
	next, _, err := h.numberOf(was.Groups, "")
	if err != nil {
		return err
	}
	st := State{Device: was.Device, Store: p.Store, Epoch: p.Epoch, Groups: next - 1}
	if st.Groups > 0 {
		st.Back, st.BackTo = 1, st.Groups
	}
	return h.keep(st, map[string][]byte{}, gone)
}
