package world

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// play makes a world from a seed, lets it run for some steps with everything going wrong, then lets it become quiet and looks at it.
func play(seed uint64, steps int, dir, planted string) (w *world) {
	w = &world{seed: seed, rng: rand.New(rand.NewPCG(seed, 1)), planted: planted, now: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC).UnixMilli(), faults: true,
		made: map[string]*change.Change{}, of: map[string][]*change.Change{}, blobs: map[string]*blob{}, kept: map[string]*phone{}, promised: map[string]bool{}, lost: map[string]bool{}, even: map[string]bool{},
		revoked: map[string]bool{}, counts: map[string]int{}}
	defer func() {
		if p := recover(); p != nil {
			if _, ok := p.(stopped); !ok {
				panic(p)
			}
		}
		for _, n := range append([]*node{w.office}, w.hubs...) {
			if n != nil && n.store != nil {
				n.close()
			}
		}
		if len(w.failures) == 0 {
			w.checkFolders()
		}
	}()
	start := func(name string, above *node) *node {
		n := &node{w: w, name: name, dir: filepath.Join(dir, name), above: above, online: true}
		if above == nil && w.chance(1, 10) {
			n.isOfOldTimes()
			return n
		}
		if w.chance(1, 8) {
			n.cutInCreation()
		}
		n.open()
		return n
	}
	w.office = start("office", nil)
	if w.chance(1, 2) {
		w.hubs = append(w.hubs, start("hub", w.office))
		if w.chance(1, 2) {
			w.hubs = append(w.hubs, start("hub of the hub", w.hubs[0]))
		}
	}
	nodes := append([]*node{w.office}, w.hubs...)
	for i := range 2 + w.rng.IntN(3) {
		p := &phone{w: w, name: fmt.Sprintf("phone %d", i), user: w.id(), node: nodes[w.rng.IntN(len(nodes))], disk: w.newDisk(), narrow: w.chance(1, 4), online: true}
		w.phones = append(w.phones, p)
	}
	// Bringing back a backup and losing a phone or an account may each cost what the other would have kept: one of them a day.
	misfortune := w.rng.IntN(4)
	for range steps {
		w.step(misfortune)
	}
	w.quiet()
	w.look()
	return w
}

func (w *world) step(misfortune int) {
	w.steps++
	w.now += int64(w.rng.IntN(60_000))
	p := w.phones[w.rng.IntN(len(w.phones))]
	nodes := w.nodes()
	n := nodes[w.rng.IntN(len(nodes))]
	switch k := w.rng.IntN(100); {
	case k < 34:
		p.edit()
	case k < 69:
		p.sync()
	case k < 75:
		p.photos()
	case k < 85:
		if len(w.hubs) > 0 {
			h := w.hubs[w.rng.IntN(len(w.hubs))]
			if w.chance(1, 12) {
				h.crashing(func() { h.forward() })
			} else {
				h.forward()
			}
		}
	case k < 88:
		p.online = !p.online
	case k < 90:
		n.online = !n.online
	case k < 93:
		if len(w.late) > 0 {
			i := w.rng.IntN(len(w.late))
			l := w.late[i]
			w.late = slices.Delete(w.late, i, i+1)
			l.to.serve(l.from, l.body) // nobody waits for the answer any more
		}
	case k < 95: // a clock jumps to anywhere in a hundred years
		w.counts["clock"]++
		ahead := time.Duration(w.rng.Int64N(int64(100*365*24*time.Hour))) - 50*365*24*time.Hour
		if w.chance(1, 6) {
			n.ahead = ahead
		} else {
			p.ahead = ahead
		}
	case k < 96:
		h, err := w.office.store.Head()
		if err != nil {
			w.fail("no head: %v", err)
		}
		w.heads = append(w.heads, h)
	case k < 98:
		n.brim()
	case k < 99:
		if w.chance(1, 8) {
			n.upgrade()
		}
	case misfortune == 1:
		w.setBack()
	case misfortune == 2:
		w.evictOrClone(p)
	case misfortune == 3 && p.node == w.office && w.rng.IntN(3) == 0:
		w.counts["revoked"]++
		w.revoked[p.user], p.revoked = true, true
	}
}

func (w *world) nodes() []*node { return append([]*node{w.office}, w.hubs...) }

// setBack takes a backup of the office, or brings an earlier one back.
func (w *world) setBack() {
	if w.backup == nil || w.chance(1, 3) {
		var b bytes.Buffer
		w.office.free() // a backup needs room too
		if err := w.office.store.Backup(&b, false); err != nil {
			w.fail("no backup: %v", err)
			return
		}
		w.backup = b.Bytes()
		return
	}
	if w.counts["restored"] >= 2 {
		return
	}
	w.counts["restored"]++
	w.office.close()
	if err := os.RemoveAll(w.office.dir); err != nil {
		panic(err)
	}
	if r, err := store.Restore(w.office.dir, bytes.NewReader(w.backup)); err != nil || len(r.Damage) > 0 {
		w.fail("the backup does not come back: %v, %v", err, r.Damage)
		panic(stopped{})
	}
	w.office.open()
	w.restored, w.heads = true, nil
}

// evictOrClone empties a phone's storage, or makes a second phone out of a copy of it.
func (w *world) evictOrClone(p *phone) {
	if w.chance(1, 2) && len(w.phones) < 6 {
		w.counts["cloned"]++
		twin := *p
		twin.name, twin.disk = p.name+" (copy)", p.disk.clone()
		w.phones = append(w.phones, &twin)
		return
	}
	w.counts["evicted"]++
	for id, holder := range w.kept {
		if holder == p && !w.promised[id] {
			w.lost[id] = true
		}
	}
	for _, name := range p.disk.album {
		w.blobs[name].lost = true
	}
	p.disk = w.newDisk()
}

// quiet lets every line come back and everybody talk until nobody has anything to say.
func (w *world) quiet() {
	w.faults = false
	for _, n := range w.nodes() {
		n.free()
	}
	for _, l := range w.late {
		l.to.serve(l.from, l.body)
	}
	w.late = nil
	for round := 0; ; round++ {
		if round == 60 {
			w.fail("no quiet after %d rounds", round)
			return
		}
		before := w.mark()
		for _, p := range w.phones {
			for range 400 {
				was := p.mark()
				p.sync()
				p.photos()
				if p.mark() == was && len(p.disk.outbox)+len(p.disk.photos) == 0 && p.disk.offer < 0 {
					break
				}
			}
		}
		for range 2 {
			for _, h := range slices.Backward(w.hubs) {
				for i := 0; h.forward() && i < 400; i++ {
				}
			}
		}
		if w.mark() == before {
			return
		}
	}
}

func (p *phone) mark() string {
	return fmt.Sprint(p.disk.place.Store, p.disk.place.Epoch, p.disk.place.Cursor, len(p.disk.outbox), p.disk.offer, len(p.disk.photos))
}

func (w *world) mark() (all string) {
	for _, n := range append([]*node{w.office}, w.hubs...) {
		last, err := n.store.Last()
		all += fmt.Sprint(n.store.Epoch(), last, err, " ")
	}
	for _, p := range w.phones {
		all += p.mark()
	}
	return all
}

// look holds what everybody now has to what happened.
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
	for id := range w.promised {
		if !office[id] && !(w.revoked[w.made[id].Author] && aside[id]) {
			w.fail("change %s was acknowledged and is not at the office", id)
		}
	}
	records := map[string]bool{}
	for id := range office {
		records[w.made[id].Record] = true
	}
	for _, h := range w.hubs {
		at := w.journalOf(h)
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
			if p.revoked || !p.inScope(id) {
				continue
			}
			if s := p.disk.records[id]; string(s.Bytes()) != want {
				w.fail("record %s on %s differs", id, p.name)
			}
		}
	}
	for _, p := range w.phones {
		if len(p.disk.outbox) > 0 {
			w.fail("%s still has %d to send", p.name, len(p.disk.outbox))
		}
	}
	w.lookAtBlobs()
	w.lookAtTree()
}

// lookAtHeads holds a record's standing values to those worked out from the changes alone: every edit that nobody saw stands, with its value,
// and nothing else does.
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
				return s.Field == f.Name && string(s.Value) == string(h.Value)
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

// journalOf returns the changes of a node, each of which must be there once and as it was made.
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
		case c == nil || string(c.Bytes()) != string(e.Change.Bytes()):
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
		if c, err := change.Parse(h.Bytes); err == nil && w.made[c.ID] != nil && string(w.made[c.ID].Bytes()) == string(h.Bytes) {
			ids[c.ID] = true
		}
	}
	return ids
}

// lookAtTree holds the heads that somebody kept on the way to the last one.
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

// checkFolders walks the data folders of some worlds as gaugewright check does.
func (w *world) checkFolders() {
	if w.seed%4 != 0 {
		return
	}
	for _, n := range append([]*node{w.office}, w.hubs...) {
		if r, err := store.Check(n.dir); err != nil || len(r.Damage) > 0 {
			w.fail("the %s: %v, %v", n.name, err, r.Damage)
		}
	}
}
