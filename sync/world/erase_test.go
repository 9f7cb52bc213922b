package world

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// personal is the field whose values name a person.
const personal = "who"

// erasure is what the office erased from a change.
type erasure struct {
	name string // the text that must be nowhere
	left merge.Erased
	leaf string // of the original entry
}

// someone is a value that names a person by a text that is nowhere else.
func (w *world) someone() []byte {
	return fmt.Appendf(nil, `{"name":"person %s","n":%d}`, w.id(), w.rng.IntN(4))
}

// officeErases lets the office erase a name from some change of its journal for good.
func (w *world) officeErases() {
	if w.office.full != nil {
		return
	}
	entries, _, err := w.office.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		w.fail("the office cannot read: %v", err)
		return
	}
	entries = slices.DeleteFunc(entries, func(e store.Entry) bool {
		_, named := nameIn(&e.Change)
		return !named || w.erased[e.Change.ID] != nil
	})
	if len(entries) == 0 {
		return
	}
	if w.erase(entries[w.rng.IntN(len(entries))]) {
		w.counts["erased"]++
	}
}

// eraseAgain erases what was erased and is at the office all the same, as a server does by its list:
// an older copy had it, or somebody brought it back.
func (w *world) eraseAgain() {
	if len(w.erased) == 0 || w.office.full != nil {
		return
	}
	entries, _, err := w.office.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		w.fail("the office cannot read: %v", err)
		return
	}
	for _, e := range entries {
		if one := w.erased[e.Change.ID]; one != nil && bytes.Contains(e.Change.Bytes(), []byte(one.name)) {
			w.counts["erased again"]++
			w.erase(e)
		}
	}
}

// erase lets the office take the name out of an entry, and says whether it did.
func (w *world) erase(e store.Entry) bool {
	value, _ := nameIn(&e.Change)
	one := erasure{left: merge.Erased{Field: personal, Members: []string{"name"}}}
	var said struct{ Name string }
	if err := json.Unmarshal(value, &said); err != nil {
		panic(err)
	}
	one.name = said.Name
	var err error
	if one.left.Digest, err = statement.Digest(value); err != nil {
		panic(err)
	}
	if one.leaf, _, err = w.office.store.LeafOf(e.Seq); err != nil {
		w.fail("no leaf of entry %d: %v", e.Seq, err)
		return false
	}
	left := merge.Without(e.Change, []merge.Erased{one.left})
	rest := sha256.Sum256(left.Bytes())
	set, err := json.Marshal(store.Erasure{
		Change: e.Change.ID,
		Values: []store.ErasedValue{{Field: personal, Members: one.left.Members, Digest: one.left.Digest}},
		Leaf:   one.leaf, Rest: hex.EncodeToString(rest[:]), By: officeAuthor,
		At: time.UnixMilli(w.now).UTC().Format(time.RFC3339), Why: "asked for",
	})
	if err != nil {
		panic(err)
	}
	state, ok, err := w.office.store.Record(e.Change.Record)
	if err != nil || !ok {
		w.fail("the record of change %s: %v, %v", e.Change.ID, ok, err)
		return false
	}
	w.erased[e.Change.ID] = &one
	if !w.officeSets(&state, change.Setting{Field: store.ErasureField(e.Change.ID), Value: set}) {
		return false
	}
	for _, p := range w.phones {
		if slices.ContainsFunc(p.disk.outbox, func(at int) bool { return p.disk.own[at].ID == e.Change.ID }) {
			w.counts["erased, unsent"]++ // its phone has not heard that it arrived
		}
	}
	return true
}

// nameIn returns the value of a change that names a person.
func nameIn(c *change.Change) (value []byte, ok bool) {
	i := slices.IndexFunc(c.Set, func(s change.Setting) bool { return s.Field == personal })
	if i < 0 {
		return nil, false
	}
	return c.Set[i].Value, true
}

// isAsMade reports whether a change is as somebody made it, or what was left of that.
func (w *world) isAsMade(made, got *change.Change) bool {
	if string(got.Bytes()) == w.written[made.ID] {
		return true
	}
	one := w.erased[made.ID]
	if one == nil {
		return false
	}
	left := merge.Without(*made, []merge.Erased{one.left})
	return bytes.Equal(left.Bytes(), got.Bytes())
}

// isLeft reports whether a value is what was left of a value that a change set.
func (w *world) isLeft(id, field string, made, got []byte) bool {
	one := w.erased[id]
	return one != nil && field == personal && bytes.Equal(one.left.Left(made), got)
}

// erase removes from what a phone keeps beside its records what the office erased, as the client
// does: from its own changes, and whole replies that it would bring back. An old program cannot do
// this.
func (p *phone) erase(news []change.Change) {
	if p.old || p.w.planted == "a phone keeps what was erased" {
		return
	}
	for i := range news {
		for _, s := range news[i].Set {
			id := merge.Erases(s.Field)
			if id == "" {
				continue
			}
			all := merge.ReadErased(s.Value)
			for k := range p.disk.own {
				if p.disk.own[k].ID == id {
					p.disk.own[k] = merge.Without(p.disk.own[k], all)
				}
			}
			p.forget(id)
		}
	}
}

// forget drops the replies that brought a change.
func (p *phone) forget(id string) {
	d := &p.disk
	for i := len(d.given) - 1; i >= 0; i-- {
		for _, c := range d.given[i].Changes {
			if c.ID == id {
				gone := d.given[i].Changes
				defer func() { p.w.dropped(gone) }()
				d.given = slices.Delete(slices.Clone(d.given), i, i+1)
				if i < d.back {
					d.back--
				}
				if i < d.backTo {
					d.backTo--
				}
				break
			}
		}
	}
}

// dropped notes of what was dropped what nobody else holds.
func (w *world) dropped(list []link.Sent) {
	held := map[string]bool{}
	for _, h := range w.hubs {
		maps.Copy(held, w.journalOf(h))
	}
	for _, p := range w.phones {
		for i := range p.disk.given {
			for k := range p.disk.given[i].Changes {
				held[p.disk.given[i].Changes[k].ID] = true
			}
		}
	}
	for i := range list {
		w.held[list[i].ID] = w.held[list[i].ID] && held[list[i].ID]
	}
}

// lookAtErased holds that what was erased is nowhere, and that the tree has the entry's leaf still.
func (w *world) lookAtErased() {
	seqs, said := map[string]uint64{}, map[string]bool{}
	entries, _, err := w.office.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		w.fail("the office cannot read: %v", err)
	}
	for _, e := range entries {
		seqs[e.Change.ID] = e.Seq
		for i := range e.Change.Set {
			if id := merge.Erases(e.Change.Set[i].Field); id != "" {
				said[id] = true
			}
		}
	}
	if len(w.erased) == 0 {
		return
	}
	var nodes, phones []places
	for _, n := range w.nodes() {
		nodes = append(nodes, n.all())
	}
	for _, p := range w.phones {
		phones = append(phones, p.all())
	}
	for _, id := range slices.Sorted(maps.Keys(w.erased)) {
		one := w.erased[id]
		// An office that lost its word for it, which nobody holds, takes what is left as what somebody wrote.
		if leaf, erased, err := w.office.store.LeafOf(seqs[id]); said[id] && (err != nil || !erased || leaf != one.leaf) {
			w.fail("of change %s, which was erased, the tree has %s, it was %s, %v", id, leaf, one.leaf, err)
		}
		for i, n := range w.nodes() {
			for _, where := range nodes[i].have(one.name) {
				w.fail("of change %s a name was erased and is in the %s of the %s", id, where, n.name)
			}
		}
		for i, p := range w.phones {
			if !p.inScope(w.made[id].Record) {
				continue // it gets nothing of this record
			}
			for _, where := range phones[i].have(one.name) {
				w.fail("of change %s a name was erased and is in the %s of %s", id, where, p.name)
			}
		}
	}
}

// places is all that somebody has, by where it is kept.
type places map[string][]byte

// have says where a text is.
func (p places) have(text string) (where []string) {
	for name, b := range p {
		if bytes.Contains(b, []byte(text)) {
			where = append(where, name)
		}
	}
	slices.Sort(where)
	return where
}

// all is what a node has.
func (n *node) all() places {
	entries, _, err := n.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		n.w.fail("the journal of the %s: %v", n.name, err)
	}
	held, err := n.store.Quarantined()
	if err != nil {
		n.w.fail("what the %s holds: %v", n.name, err)
	}
	var quarantine, journal, records []byte
	for _, h := range held {
		quarantine = append(quarantine, h.Bytes...)
	}
	for i := range entries {
		journal = entries[i].Change.Append(journal)
	}
	for record := range n.w.of {
		s, ok, err := n.store.Record(record)
		if err != nil {
			n.w.fail("record %s at the %s: %v", record, n.name, err)
		} else if ok {
			records = s.Append(records)
		}
	}
	return places{"quarantine": quarantine, "journal": journal, "records": records}
}

// all is what a phone has.
func (p *phone) all() places {
	if slices.ContainsFunc(p.users, func(user string) bool { return p.w.revoked[user] }) {
		return nil // it may not have heard of what was erased
	}
	var records, own, replies []byte
	for id := range p.disk.records {
		s := p.disk.records[id]
		records = s.Append(records)
	}
	if p.old {
		return places{"records": records} // its program leaves what it wrote itself
	}
	for i := range p.disk.own {
		own = p.disk.own[i].Append(own)
	}
	for i := range p.disk.given {
		for _, c := range p.disk.given[i].Changes {
			replies = append(replies, c.Bytes...)
		}
	}
	return places{"records": records, "own changes": own, "replies that it keeps": replies}
}
