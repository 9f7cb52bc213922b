package world

import (
	"encoding/hex"
	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
	"maps"
	"slices"
)

// look compares what everybody has now with what happened.
func (w *world) look() {
	office := w.journalOf(w.office)
	aside := w.asideAt(w.office)
	for id, holder := range w.kept {
		switch {
		case office[id]:
		case w.revoked[w.made[id].Author] && aside[id]:
		case w.lost[id] && !w.promised[id]:
		default:
			w.fail("change %s, kept by %s (promised %v), is not at the office", id, holder.name, w.promised[id])
		}
	}
	for id := range w.decided {
		if !office[id] && (!w.undone[id] || w.held[id]) {
			w.fail("change %s, which the office wrote, is not there; somebody was given it: %v", id, w.held[id])
		}
	}
	for id := range w.promised {
		// Nobody need keep what a restored office itself decided. Above, it must come back if
		// somebody still holds it with the office's signature.
		lost := w.undone[id] && !w.held[id]
		if !office[id] && !lost && !(w.revoked[w.made[id].Author] && aside[id]) {
			w.fail("change %s was acknowledged and is not at the office", id)
		}
	}
	records := map[string]bool{}
	for id := range office {
		records[w.made[id].Record] = true
	}
	for _, h := range w.hubs {
		at := w.journalOf(h)
		for id := range at {
			if w.unproven[id] && !office[id] { // nobody can prove that the office wrote it: it is quarantined there
				if !aside[id] {
					w.fail("change %s, which the %s has, is neither taken nor set aside", id, h.name)
				}
				delete(at, id)
				delete(records, w.made[id].Record)
			}
		}
		if !maps.Equal(at, office) {
			w.fail("%s has %d changes, the office %d", h.name, len(at), len(office))
		}
	}
	for _, id := range slices.Sorted(maps.Keys(records)) {
		state, _, err := w.office.store.Record(id)
		if err != nil {
			w.fail("record %s: %v", id, err)
			continue
		}
		w.lookAtHeads(&state, office)
		want := string(state.Bytes())
		for _, h := range w.hubs {
			if s, _, err := h.store.Record(id); err != nil || string(s.Bytes()) != want {
				w.fail("record %s at the %s differs, %v", id, h.name, err)
			}
		}
		for _, p := range w.phones {
			// Held changes of somebody whose account ended stay on their phone.
			if !p.inScope(id) || slices.ContainsFunc(p.users, func(user string) bool { return w.revoked[user] }) {
				continue
			}
			if s := p.disk.records[id]; string(s.Bytes()) != want {
				w.fail("record %s on %s differs", id, p.name)
			}
		}
	}
	for _, p := range w.phones {
		p.lookAtRefusals(office)
		if len(p.disk.outbox) > 0 {
			w.fail("%s still has %d to send", p.name, len(p.disk.outbox))
		}
	}
	w.lookAtBlobs()
	w.lookAtErased()
	w.lookAtTree()
	for _, n := range w.nodes() {
		n.lookAtNumbers()
	}
}

// lookAtNumbers compares what a node says of each device's numbers with the changes that it has.
func (n *node) lookAtNumbers() {
	type of struct {
		device string
		seq    uint64
	}
	times, highest, by := map[of]int{}, map[string]uint64{}, map[of]bool{}
	for id := range n.w.journalOf(n) {
		c := n.w.made[id]
		times[of{c.Device, c.Seq}]++
		highest[c.Device] = max(highest[c.Device], c.Seq)
		by[of{c.Device + " " + c.Author, 0}] = true
	}
	came, err := n.store.Came()
	if err != nil || len(came) < len(highest) {
		n.w.fail("the %s knows %d devices of %d, %v", n.name, len(came), len(highest), err)
		return
	}
	for device, last := range highest {
		c := came[device]
		missing := c.Missing()
		for seq := uint64(1); seq <= last+1; seq++ {
			k := times[of{device, seq}]
			if c.Taken.Has(seq) != (k > 0) || c.Twice.Has(seq) != (k > 1) || missing.Has(seq) != (k == 0 && seq < last) {
				n.w.fail("of %s number %d is in %d changes; %s has %+v", device, seq, k, n.name, c)
				return
			}
			if k > 1 {
				n.w.counts["number twice"]++
			}
		}
		for _, who := range c.By {
			if !by[of{device + " " + who, 0}] {
				n.w.fail("%s says that %s wrote with %s", n.name, who, device)
			}
		}
	}
}

// lookAtHeads compares a record's current values with those computed from the changes alone: every
// edit that nobody saw is kept with its value, and nothing else is.
func (w *world) lookAtHeads(state *merge.State, office map[string]bool) {
	for i := range state.Fields {
		f := &state.Fields[i]
		want := w.headsOf(state.ID, f.Name, office)
		var got []string
		values := map[string]bool{}
		for _, h := range f.Heads {
			got = append(got, h.Change)
			values[string(h.Value)] = true
			c := w.made[h.Change]
			ok := c != nil && c.Record == state.ID && c.Author == h.Author && slices.ContainsFunc(c.Set, func(s change.Setting) bool {
				return s.Field == f.Name && (string(s.Value) == string(h.Value) || w.isLeft(c.ID, s.Field, s.Value, h.Value))
			})
			if !ok {
				w.fail("record %s, %s: the value %s of change %s was never written", state.ID, f.Name, h.Value, h.Change)
			}
		}
		slices.Sort(got)
		if !slices.Equal(got, want) {
			w.fail("record %s, %s: %v stand, it should be %v", state.ID, f.Name, got, want)
		}
		if f.Contested() != (len(values) > 1) {
			w.fail("record %s, %s: contested %v with %d values", state.ID, f.Name, f.Contested(), len(values))
		}
		if f.Contested() {
			w.counts["contested"]++
		}
	}
}

// journalOf returns the changes of a node. Each must be there once and as it was made.
func (w *world) journalOf(n *node) map[string]bool {
	entries, _, err := n.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		w.fail("the journal of the %s: %v", n.name, err)
	}
	ids := map[string]bool{}
	for _, e := range entries {
		c := w.made[e.Change.ID]
		switch {
		case ids[e.Change.ID]:
			w.fail("change %s is doubled at the %s", e.Change.ID, n.name)
		case c == nil || !w.isAsMade(c, &e.Change):
			w.fail("change %s at the %s is not as it was made", e.Change.ID, n.name)
		}
		ids[e.Change.ID] = true
	}
	return ids
}

func (w *world) asideAt(n *node) map[string]bool {
	list, err := n.store.Quarantined()
	if err != nil {
		w.fail("what is set aside: %v", err)
	}
	ids := map[string]bool{}
	for _, h := range list {
		if c, err := change.Parse(h.Bytes); err == nil && w.made[c.ID] != nil && w.written[c.ID] == string(h.Bytes) {
			ids[c.ID] = true
		}
	}
	return ids
}

// lookAtTree checks the heads that somebody kept on the way against the last one.
func (w *world) lookAtTree() {
	last, err := w.office.store.Head()
	if err != nil {
		w.fail("no head: %v", err)
		return
	}
	hash := func(text string) (h journal.Hash) {
		if n, err := hex.Decode(h[:], []byte(text)); err != nil || n != len(h) {
			w.fail("%q is no hash", text)
		}
		return h
	}
	for _, h := range w.heads {
		if h.Size == 0 {
			continue
		}
		proof, err := w.office.store.Consistency(h.Size, last.Size)
		if err == nil {
			err = journal.CheckConsistency(int(h.Size), int(last.Size), hash(h.Root), hash(last.Root), proof)
		}
		if err != nil {
			w.fail("the head of %d entries is not the beginning of that of %d: %v", h.Size, last.Size, err)
		}
	}
}

// checkFolders checks the data folders of some worlds as gaugewright check does.
func (w *world) checkFolders() {
	if w.seed%4 != 0 {
		return
	}
	for _, n := range append([]*node{w.office}, w.hubs...) {
		check := func() (store.Report, error) { return store.Check(n.dir) }
		if n.address != "" {
			check = n.checkElsewhere
		}
		if r, err := check(); err != nil || len(r.Damage) > 0 {
			w.fail("the %s: %v, %v", n.name, err, r.Damage)
		}
	}
}
