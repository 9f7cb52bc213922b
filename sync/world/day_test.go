package world

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// play makes a world from a seed, lets it run for some steps with everything going wrong, then lets
// it settle and checks it.
func play(seed uint64, steps int, dir, planted string) (w *world) {
	return playIn(seed, steps, dir, planted, nil)
}

// playIn is play with the office's plant in a database, of which plant makes an empty one; nil for in
// its folder.
func playIn(seed uint64, steps int, dir, planted string, plant func() string) (w *world) {
	w = &world{plant: plant, seed: seed, rng: rand.New(rand.NewPCG(seed, 1)), planted: planted, now: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC).UnixMilli(), faults: true,
		made: map[string]*change.Change{}, written: map[string]string{}, of: map[string][]*change.Change{}, blobs: map[string]*blob{}, kept: map[string]*phone{}, promised: map[string]bool{}, decided: map[string]bool{}, held: map[string]bool{}, lost: map[string]bool{}, undone: map[string]bool{}, unproven: map[string]bool{}, erased: map[string]*erasure{}, even: map[string]bool{},
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
		if above == nil && plant != nil {
			n.address = plant()
			n.open()
			return n
		}
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
	loop := len(w.hubs) == 2 && w.chance(1, 2)
	nodes := append([]*node{w.office}, w.hubs...)
	for i := range 2 + w.rng.IntN(3) {
		p := &phone{
			w: w, name: fmt.Sprintf("phone %d", i), users: []string{w.id()},
			node: nodes[w.rng.IntN(len(nodes))], disk: w.newDisk(), narrow: w.chance(1, 4),
			old: w.chance(1, 8), online: true,
		}
		if w.chance(1, 3) {
			p.users = append(p.users, w.id())
		}
		p.user = p.users[0]
		w.phones = append(w.phones, p)
	}
	// Restoring a backup and losing a phone or an account could each cost what the other would have
	// kept, so a day has only one of them.
	misfortune := w.rng.IntN(4)
	for range steps {
		if loop && w.chance(1, 40) {
			w.turn()
		}
		w.step(misfortune)
	}
	if loop {
		w.loopIsQuiet()
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
	case k < 3:
		p.handOver(p.users[w.rng.IntN(len(p.users))])
	case k < 6:
		// What a phone held beside something that was erased it drops; a hub does not. So an office that
		// is set back erases only if it has hubs.
		both := len(w.hubs) > 0 && (*eraseAndRestore || w.seed%2 == 0)
		if (misfortune != 1 || both) && w.chance(1, 3) {
			w.officeErases()
		} else {
			w.officeWrites()
		}
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
		// No file that old has anything erased in it. And an office that was restored needs its
		// key, which brings back what it lost.
		if w.chance(1, 8) && len(w.erased) == 0 && (n != w.office || w.counts["restored"] == 0) {
			n.upgrade()
		}
	case misfortune == 1:
		w.setBack()
	case misfortune == 2:
		w.evictOrClone(p)
	case misfortune == 3:
		w.endOrReturn(p)
	}
}

// turn lets the first hub forward to the second, which forwards to the first, as if somebody typed
// the wrong address. Or it corrects that.
func (w *world) turn() {
	h := w.hubs[0]
	if h.above == w.office {
		h.above = w.hubs[1]
		w.counts["in a loop"]++
	} else {
		h.above = w.office
	}
}

// loopIsQuiet checks that two hubs that forward to each other come to an end with the same changes
// in both journals. It then corrects the address.
func (w *world) loopIsQuiet() {
	w.faults = false
	w.hubs[0].above = w.hubs[1]
	for _, h := range w.hubs {
		h.free()
	}
	for round := 0; ; round++ {
		before := w.mark()
		for _, h := range w.hubs {
			for i := 0; h.forward(); i++ {
				if i == 400 {
					w.fail("the %s, in a loop, has no end", h.name)
					return
				}
			}
		}
		if w.mark() == before {
			break
		}
		if round == 20 {
			w.fail("two hubs in a loop do not become quiet")
			return
		}
	}
	if a, b := w.journalOf(w.hubs[0]), w.journalOf(w.hubs[1]); !maps.Equal(a, b) {
		w.fail("two hubs in a loop have %d and %d changes", len(a), len(b))
	}
	w.hubs[0].above = w.office
}

func (w *world) nodes() []*node { return append([]*node{w.office}, w.hubs...) }

// officeWrites lets the office decide something: it writes with its own device into its own
// journal.
func (w *world) officeWrites() {
	if len(w.made) == 0 || w.office.full != nil {
		return
	}
	ids := slices.Sorted(maps.Keys(w.of))
	state, ok, err := w.office.store.Record(ids[w.rng.IntN(len(ids))])
	if err != nil {
		w.fail("the office cannot read: %v", err)
	}
	if !ok {
		return
	}
	if w.officeSets(&state, change.Setting{Field: "approval", Value: w.value()}) {
		w.counts["the office wrote"]++
	}
}

// officeSets writes a field of a record as the office and reports whether it was kept.
func (w *world) officeSets(state *merge.State, set change.Setting) bool {
	known := w.journalOf(w.office)
	in := merge.Intent{
		Record: state.ID, Kind: state.Kind, Site: state.Site, Parent: state.Parent,
		Device: officeAuthor, Seq: uint64(len(w.made) + 1), Author: officeAuthor,
		Wall:   time.UnixMilli(w.now).UTC().Format("2006-01-02T15:04:05.000Z"),
		WallMS: w.now, ChangeID: w.id(), Set: []change.Setting{set},
	}
	for id := range known {
		in.Count = max(in.Count, w.made[id].Stamp.Count)
	}
	c, _, err := merge.Draft(*state, in)
	if err != nil {
		w.fail("the office could not write: %v", err)
		return false
	}
	w.wrote(&c, &disk{known: known})
	if r, err := w.office.store.Add(context.Background(), []change.Change{c}); err != nil || len(r.Accepted) != 1 {
		w.fail("the office could not keep: %+v, %v", r, err)
		return false
	}
	w.decided[c.ID] = true
	return true
}

// setBack takes a backup of the office or of a hub, or restores an earlier one.
func (w *world) setBack() {
	if len(w.hubs) > 0 && w.seed%3 == 0 {
		w.setBackHub(w.hubs[w.rng.IntN(len(w.hubs))])
		return
	}
	if w.backup == nil || w.chance(1, 6) {
		var b bytes.Buffer
		w.office.free() // a backup needs space too
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
	for _, h := range w.hubs {
		for id := range w.journalOf(h) {
			w.held[id] = !w.unproven[id] // of the office's own changes, only what it sent out
		}
	}
	key := w.office.store.HeadKey()
	w.office.close()
	if err := os.RemoveAll(w.office.dir); err != nil {
		panic(err)
	}
	if w.plant != nil {
		if err := restoreElsewhere(w.office, w.backup, w.plant); err != nil {
			w.fail("the backup does not come back: %v", err)
			panic(stopped{})
		}
	} else if r, err := store.Restore(w.office.dir, bytes.NewReader(w.backup)); err != nil || len(r.Damage) > 0 {
		w.fail("the backup does not come back: %v, %v", err, r.Damage)
		panic(stopped{})
	}
	w.office.open()
	w.heads = nil
	defer w.eraseAgain()
	there := w.journalOf(w.office)
	for id := range w.decided {
		if !there[id] {
			w.undone[id] = true
		}
	}
	if w.office.store.HeadKey() != key { // the copy is from before the key was made
		clear(w.held)
		maps.Copy(w.unproven, w.undone)
	}
}

// setBackHub is setBack for a hub.
func (w *world) setBackHub(h *node) {
	if h.backup == nil || w.chance(1, 6) {
		var b bytes.Buffer
		h.free()
		if err := h.store.Backup(&b, false); err != nil {
			w.fail("no backup of the %s: %v", h.name, err)
			return
		}
		h.backup = b.Bytes()
		return
	}
	w.counts["hub restored"]++
	h.close()
	if err := os.RemoveAll(h.dir); err != nil {
		panic(err)
	}
	if r, err := store.Restore(h.dir, bytes.NewReader(h.backup)); err != nil || len(r.Damage) > 0 {
		w.fail("the backup of the %s does not come back: %v, %v", h.name, err, r.Damage)
		panic(stopped{})
	}
	h.open()
}

// evictOrClone empties a phone's storage, or makes a second phone from a copy of it.
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

// quiet restores every line and lets everybody talk until nobody has anything more to say.
func (w *world) quiet() {
	w.faults = false
	for _, n := range w.nodes() {
		n.free()
	}
	w.eraseAgain()
	// An account whose work comes by a hub returns at last, some others too: all that was held is to
	// be found.
	for _, p := range w.phones {
		for _, user := range p.users {
			if p.user = user; w.revoked[user] && (p.node != w.office || w.chance(1, 2)) {
				w.endOrReturn(p)
			}
		}
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
			p.everybody()
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

// everybody lets each of a phone's people log in and send their work, last somebody whose account
// is valid.
func (p *phone) everybody() {
	users := slices.Clone(p.users)
	slices.SortStableFunc(users, func(a, b string) int {
		switch {
		case p.w.revoked[a] == p.w.revoked[b]:
			return 0
		case p.w.revoked[a]:
			return -1
		}
		return 1
	})
	for _, user := range users {
		p.handOver(user)
		for range 400 {
			was := p.mark()
			p.sync()
			p.photos()
			if p.mark() == was && len(p.waits())+len(p.disk.photos) == 0 && p.disk.offer < 0 && p.disk.back < 0 {
				break
			}
		}
	}
}

func (p *phone) mark() string {
	return fmt.Sprint(
		p.disk.place.Store, p.disk.place.Epoch, p.disk.place.Cursor, len(p.disk.outbox), p.disk.offer,
		len(p.disk.photos), p.disk.back,
	)
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
