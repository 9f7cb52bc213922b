package world

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"
	"gaugewright/sync/store"
)

// personal is the field whose values name somebody.
const personal = "who"

// erasure is what the office erased of a change.
type erasure struct {
	name string // the text that is to be nowhere
	left merge.Erased
	leaf string // of the entry as it was
}

// someone is a value that names somebody by a text that is nowhere else.
func (w *world) someone() []byte {
	return fmt.Appendf(nil, `{"name":"person %s","n":%d}`, w.id(), w.rng.IntN(4))
}

// officeErases lets the office take a name out of some change of its journal for good.
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
	e := entries[w.rng.IntN(len(entries))]
	value, _ := nameIn(&e.Change)
	one := erasure{left: merge.Erased{Field: personal, Members: []string{"name"}}}
	var said struct{ Name string }
	if err := json.Unmarshal(value, &said); err != nil {
		panic(err)
	}
	one.name = said.Name
	if one.left.Digest, err = statement.Digest(value); err != nil {
		panic(err)
	}
	if one.leaf, _, err = w.office.store.LeafOf(e.Seq); err != nil {
		w.fail("no leaf of entry %d: %v", e.Seq, err)
		return
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
		return
	}
	w.erased[e.Change.ID] = &one
	if !w.officeSets(&state, change.Setting{Field: store.ErasureField(e.Change.ID), Value: set}) {
		return
	}
	w.counts["erased"]++
	for _, p := range w.phones {
		if slices.ContainsFunc(p.disk.outbox, func(at int) bool { return p.disk.own[at].ID == e.Change.ID }) {
			w.counts["erased, unsent"]++ // its phone has not heard that it came
		}
	}
}

// nameIn returns the value of a change that names somebody.
func nameIn(c *change.Change) (value []byte, ok bool) {
	i := slices.IndexFunc(c.Set, func(s change.Setting) bool { return s.Field == personal })
	if i < 0 {
		return nil, false
	}
	return c.Set[i].Value, true
}

// isAsMade says whether a change is as somebody made it, or what was left of that.
func (w *world) isAsMade(made, got *change.Change) bool {
	if bytes.Equal(made.Bytes(), got.Bytes()) {
		return true
	}
	one := w.erased[made.ID]
	if one == nil {
		return false
	}
	left := merge.Without(*made, []merge.Erased{one.left})
	return bytes.Equal(left.Bytes(), got.Bytes())
}

// isLeft says whether a value is what was left of one that a change set.
func (w *world) isLeft(id, field string, made, got []byte) bool {
	one := w.erased[id]
	return one != nil && field == personal && bytes.Equal(one.left.Left(made), got)
}

// erase takes out of what a phone keeps beside its records what the office erased, as the client
// does: of what was written on it, and whole replies that it would bring back. An old program knows
// nothing of it.
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

// forget drops the replies that a change came with.
func (p *phone) forget(id string) {
	d := &p.disk
	for i := len(d.given) - 1; i >= 0; i-- {
		for _, c := range d.given[i].Changes {
			if c.ID == id {
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

// lookAtErased holds that what was erased is nowhere, and that the tree has the entry's leaf still.
func (w *world) lookAtErased() {
	seqs := map[string]uint64{}
	entries, _, err := w.office.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		w.fail("the office cannot read: %v", err)
	}
	for _, e := range entries {
		seqs[e.Change.ID] = e.Seq
	}
	for _, id := range slices.Sorted(maps.Keys(w.erased)) {
		one := w.erased[id]
		if leaf, erased, err := w.office.store.LeafOf(seqs[id]); err != nil || !erased || leaf != one.leaf {
			w.fail("of change %s, which was erased, the tree has %s, it was %s, %v", id, leaf, one.leaf, err)
		}
		for _, n := range w.nodes() {
			for _, where := range n.has(one.name) {
				w.fail("of change %s a name was erased and is in the %s of the %s", id, where, n.name)
			}
		}
		for _, p := range w.phones {
			if !p.inScope(w.made[id].Record) {
				continue // it is told nothing of this record
			}
			for _, where := range p.has(one.name) {
				w.fail("of change %s a name was erased and is in the %s of %s", id, where, p.name)
			}
		}
	}
}

// has says where a node has a text.
func (n *node) has(text string) (where []string) {
	entries, _, err := n.store.Piece(0, store.Bounds{}, nil)
	if err != nil {
		n.w.fail("the journal of the %s: %v", n.name, err)
	}
	found := map[string]bool{}
	held, err := n.store.Quarantined()
	if err != nil {
		n.w.fail("what the %s holds: %v", n.name, err)
	}
	for _, h := range held {
		if bytes.Contains(h.Bytes, []byte(text)) {
			found["quarantine"] = true
		}
	}
	for i := range entries {
		c := &entries[i].Change
		if bytes.Contains(c.Bytes(), []byte(text)) {
			found["journal"] = true
		}
	}
	for record := range n.w.of {
		if s, ok, err := n.store.Record(record); err != nil {
			n.w.fail("record %s at the %s: %v", record, n.name, err)
		} else if ok && bytes.Contains(s.Bytes(), []byte(text)) {
			found["records"] = true
		}
	}
	return slices.Sorted(maps.Keys(found))
}

// has says where a phone has a text.
func (p *phone) has(text string) (where []string) {
	if slices.ContainsFunc(p.users, func(user string) bool { return p.w.revoked[user] }) {
		return nil // it may not have heard of it
	}
	for id := range p.disk.records {
		if s := p.disk.records[id]; strings.Contains(string(s.Bytes()), text) {
			where = append(where, "records")
			break
		}
	}
	if p.old {
		return where // its program leaves what it wrote itself
	}
	for i := range p.disk.own {
		if strings.Contains(string(p.disk.own[i].Bytes()), text) {
			where = append(where, "own changes")
			break
		}
	}
	for i := range p.disk.given {
		for _, c := range p.disk.given[i].Changes {
			if strings.Contains(string(c.Bytes), text) {
				return append(where, "replies that it keeps")
			}
		}
	}
	return where
}
