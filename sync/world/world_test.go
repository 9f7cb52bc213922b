package world

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/hub"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// node is an office or a hub: the real store, exchange and forwarding, on a disk that loses what
// was not synced and can be full.
type node struct {
	w      *world
	name   string
	dir    string
	store  *store.Store
	hub    *hub.Hub // nil at the office
	above  *node
	online bool // towards above
	ahead  time.Duration
	file   *os.File // of the open database
	log    *os.File // the write-ahead log
	full   []*fullDisk
	backup []byte  // of a hub
	synced []byte  // the database when all of it was last synced
	images []image // while a power cut is played: what the files hold after each transaction
	noLog  bool    // it syncs each transaction by itself
}

// image is what the files of a node hold, of which a disk has only synced and log for sure.
type image struct{ synced, db, log []byte }

// These bounds are reached by a few of the long values.
const (
	officeAuthor  = "0ff1ce"
	requestBytes  = 9000
	responseBytes = 12_000
	maxLog        = 90_000
)

type late struct {
	to   *node
	from *phone
	body []byte
}

// world is one bad day. All chance comes from its seed.
type world struct {
	seed    uint64
	rng     *rand.Rand
	planted string
	now     int64 // Unix milliseconds
	faults  bool
	office  *node
	hubs    []*node
	phones  []*phone
	late    []late

	made     map[string]*change.Change   // every change that anybody made
	of       map[string][]*change.Change // by record
	blobs    map[string]*blob
	kept     map[string]*phone // those whose writer was told that they were kept, with the phone that holds them
	promised map[string]bool   // those that an office or hub acknowledged
	decided  map[string]bool   // those that the office itself wrote
	held     map[string]bool   // those that a phone or hub was given with a signature
	lost     map[string]bool   // those whose phone was wiped before it was acknowledged: nobody could have kept them
	even     map[string]bool   // records that narrow phones hold
	revoked  map[string]bool   // users
	heads    []store.Head      // of the office
	backup   []byte
	undone   map[string]bool     // decisions that a restored copy did not have
	erased   map[string]*erasure // by the change of which something was erased
	failures []string
	steps    int
	counts   map[string]int
}

func (w *world) chance(n, of int) bool { return w.rng.IntN(of) < n }

func (w *world) fail(format string, args ...any) {
	if len(w.failures) < 5 {
		w.failures = append(w.failures, fmt.Sprintf(format, args...))
	}
}

type chance struct{ *rand.Rand }

func (c chance) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(c.Uint32())
	}
	return len(b), nil
}

func (w *world) id() string {
	id, err := change.NewID(chance{w.rng})
	if err != nil {
		panic(err)
	}
	return id
}

func (n *node) options() store.Options {
	return store.Options{NoSync: true, NoLog: n.noLog, MaxLog: maxLog, FallBack: true,
		Now: func() time.Time { return time.UnixMilli(n.w.now).Add(n.ahead) },
		OpenFile: func(name string, flag int, mode os.FileMode) (f *os.File, err error) {
			f, err = os.OpenFile(name, flag, mode)
			switch {
			case strings.HasPrefix(filepath.Base(name), store.Log):
				n.log = f
			case flag&os.O_RDWR != 0: // a backup reads it
				n.file = f
			}
			return f, err
		},
		Wrote: func() {
			if n.images != nil {
				n.images = append(n.images, n.image())
			}
		},
		Synced: func() { n.synced = n.read(store.File) }}
}

// read returns what a file would hold if nothing were lost.
func (n *node) read(name string) []byte {
	b, err := os.ReadFile(filepath.Join(n.dir, name))
	if err != nil {
		panic(err)
	}
	return b
}

func (n *node) image() image { return image{n.synced, n.read(store.File), n.read(store.Log)} }

func (n *node) open() {
	s, err := store.OpenWith(n.dir, n.options())
	if err != nil {
		n.w.fail("%s does not open: %v", n.name, err)
		panic(stopped{})
	}
	n.store = s
	if n.above != nil {
		n.hub = hub.New(s, n, chance{n.w.rng})
		n.hub.SetPiece(pieceBytes)
		n.hub.SetSize(requestBytes)
	}
}

func (n *node) close() {
	n.free()
	if err := n.store.Close(); err != nil {
		n.w.fail("%s does not close: %v", n.name, err)
	}
}

// stopped ends a world that cannot go on; its failures say why.
type stopped struct{}

var errCut = errors.New("the line was cut")

// carry brings a request to a node and its reply back, over a network that drops, repeats, holds
// back and alters.
func (w *world) carry(to *node, from *phone, body []byte) ([]byte, bool) {
	w.now += int64(w.rng.IntN(2000))
	if !w.faults {
		return to.serve(from, body), true
	}
	if !from.online || w.chance(1, 12) {
		w.counts["dropped"]++
		return nil, false
	}
	if w.chance(1, 40) {
		w.counts["portal"]++
		return portal(body), true
	}
	if w.chance(1, 20) {
		w.counts["late"]++
		w.late = append(w.late, late{to, from, body})
		return nil, false
	}
	if w.chance(1, 20) {
		w.counts["repeated"]++
		to.serve(from, body)
	}
	var reply []byte
	if w.chance(1, 25) {
		to.crashing(func() { reply = to.serve(from, body) })
		return nil, false
	}
	reply = to.serve(from, body)
	if w.chance(1, 15) {
		w.counts["acknowledgement lost"]++
		return nil, false
	}
	if len(reply) > 0 && w.chance(1, 60) {
		w.counts["reply cut"]++
		reply = reply[:w.rng.IntN(len(reply))]
	}
	return reply, true
}

// portal is a network's own log-in page that answers everything as an office would, but cannot know
// the nonce.
func portal(body []byte) []byte {
	q, err := link.ReadRequest(body)
	if err != nil {
		panic(err)
	}
	p := link.Response{Store: q.Store, Epoch: q.Epoch, Root: q.Root, Nonce: "portal", Cursor: q.Cursor}
	for i := range q.Changes {
		p.Acknowledged = append(p.Acknowledged, q.Changes[i].ID)
	}
	return p.Bytes()
}

// serve answers a request as the real server does. from is nil for a hub, which may bring
// everybody's changes and holds everything.
func (n *node) serve(from *phone, body []byte) []byte {
	w := n.w
	w.steps++
	q, err := link.ReadRequest(body)
	if err != nil {
		w.fail("%s cannot read a request: %v", n.name, err)
		panic(stopped{})
	}
	side := n.side(from)
	p, err := side.Serve(context.Background(), q, time.UnixMilli(w.now).UTC().Format(time.RFC3339Nano))
	if err != nil {
		if len(n.full) > 0 {
			w.counts["refused, disk full"]++
			return nil // a sender hears that it did not work
		}
		w.fail("%s cannot serve: %v", n.name, err)
		panic(stopped{})
	}
	for _, id := range p.Acknowledged {
		w.promised[id] = true
	}
	return p.Bytes()
}

// side is what a node does with requests of a phone, or of a hub where from is nil. Accounts are
// the office's.
func (n *node) side(from *phone) link.Side {
	w := n.w
	s := link.Side{Store: n.store, Sender: "hvb",
		MayWrite: func(c *change.Change) error {
			if n.above == nil && w.revoked[c.Author] {
				return errors.New("the account was revoked")
			}
			if c.Author == officeAuthor {
				return errors.New("nobody brings what the office writes itself")
			}
			if from != nil && from.user != c.Author {
				return errors.New("the change names another author")
			}
			return nil
		},
		InScope:  func(c *change.Change) (bool, error) { return from == nil || from.inScope(c.Record), nil },
		Refusals: func() ([]link.Held, error) { return n.refusals(from) },
		Bytes:    responseBytes,
	}
	if from != nil {
		s.Sender, s.Nothing = from.user, n.above == nil && w.revoked[from.user]
	}
	return s
}

// refusals is what a phone or a hub has to know of changes that were acknowledged or held before.
func (n *node) refusals(from *phone) (told []link.Held, err error) {
	const all = 1 << 20
	var list []store.Refusal
	if from != nil {
		list, err = n.store.Refusals(from.user, all)
	} else {
		list, err = n.store.RefusalsFrom("hvb", all)
	}
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		told = append(told, link.Held(r))
	}
	if n.hub == nil {
		return told, nil
	}
	above, err := n.hub.Refused()
	for i := range above {
		if from == nil || above[i].Change.Author == from.user {
			told = append(told, link.Held{ID: above[i].Change.ID, Reason: above[i].Reason})
		}
	}
	return told, err
}

// endOrReturn ends the account of a phone's user at the office, or gives it back; then the office
// looks again at what it holds of it.
func (w *world) endOrReturn(p *phone) {
	ended := !w.revoked[p.user]
	if ended {
		w.counts["revoked"]++
	} else {
		w.counts["returned"]++
	}
	w.revoked[p.user] = ended
	if ended {
		return
	}
	w.office.free()
	held, err := w.office.store.HeldBy(p.user, 0, 1<<20, 1<<30)
	if err != nil {
		w.fail("what is held of %s: %v", p.name, err)
		return
	}
	side := w.office.side(nil)
	answered, err := side.Reconsider(context.Background(), held)
	if err != nil || len(answered.Quarantined) > 0 {
		w.fail("what was held of %s: %v, %v", p.name, answered.Quarantined, err)
	}
	w.counts["taken in later"] += len(answered.Acknowledged)
	for _, id := range answered.Acknowledged {
		w.promised[id] = true
	}
}

// overlooked is a reply of an office that did not see the last change of a request, and says
// nothing of it.
func (n *node) overlooked(body []byte) []byte {
	q, err := link.ReadRequest(body)
	if err != nil {
		panic(err)
	}
	if len(q.Changes) == 0 {
		return n.serve(nil, body)
	}
	n.w.counts["overlooked"]++
	q.Changes = q.Changes[:len(q.Changes)-1]
	return n.serve(nil, q.Bytes())
}

// Exchange is the hub's line to what is above it.
func (n *node) Exchange(_ context.Context, body []byte) ([]byte, error) {
	w := n.w
	if w.faults && (!n.online || w.chance(1, 10)) {
		return nil, errCut
	}
	serve := func() []byte { return n.above.serve(nil, body) }
	if w.faults && w.chance(1, 25) {
		serve = func() []byte { return n.above.overlooked(body) }
	}
	reply := serve()
	if reply == nil || w.faults && w.chance(1, 12) {
		w.counts["acknowledgement lost"]++
		return nil, errCut
	}
	return reply, nil
}

// Arrived and PutPiece are the rest of the line.
func (n *node) Arrived(_ context.Context, name string) (int64, bool, error) {
	if n.w.faults && (!n.online || n.w.chance(1, 10)) {
		return 0, false, errCut
	}
	return n.above.store.Arrived(name)
}

// PutPiece carries a piece of a blob to what is above.
func (n *node) PutPiece(_ context.Context, name string, from, total int64, b []byte) (int64, bool, error) {
	if n.w.faults && (!n.online || n.w.chance(1, 10)) {
		return 0, false, errCut
	}
	got, whole, err := n.above.takePiece(name, from, total, b)
	if n.w.faults && n.w.chance(1, 10) {
		return 0, false, errCut
	}
	return got, whole, err
}

func (n *node) forward() (more bool) {
	n.w.steps++
	if n.w.chance(1, 10) {
		if err := n.hub.Offer(); err != nil {
			n.w.fail("%s cannot offer again: %v", n.name, err)
		}
	}
	more, err := n.hub.Once(context.Background())
	if err == nil && !more {
		err = n.hub.Blobs(context.Background())
	}
	if err != nil && !errors.Is(err, errCut) && !(n.w.faults && errors.Is(err, link.ErrReply)) && len(n.full) == 0 {
		n.w.fail("%s cannot forward: %v", n.name, err)
		panic(stopped{})
	}
	return more && err == nil
}

// crashing cuts the power at some write of work, and starts the node again on what its disk then
// holds.
func (n *node) crashing(work func()) {
	w := n.w
	w.counts["crash"]++
	n.free()
	promised := make(map[string]bool, len(w.promised))
	for id := range w.promised {
		promised[id] = true
	}
	held := map[string]bool{}
	for sum, b := range w.blobs {
		held[sum] = b.promised
	}
	n.images = []image{n.image()}
	work()
	images := n.images
	n.images = nil
	n.close()
	w.promised = promised // nobody heard what it said
	for sum, b := range w.blobs {
		b.promised = held[sum]
	}
	after := w.rng.IntN(len(images)) // of the transactions, the one that is cut
	left, before := images[after], images[max(after-1, 0)]
	since := [][]byte{left.db} // states since all was synced
	if &left.synced[0] == &before.synced[0] {
		since = append(since, before.db)
	}
	if after > 0 && w.chance(1, 2) { // within it: its record is torn, or not there
		w.counts["log torn"]++
		log := before.log
		if more, ok := bytes.CutPrefix(left.log, before.log); ok && len(more) > 0 {
			log = append(bytes.Clone(log), more[:w.rng.IntN(len(more))]...)
			if w.chance(1, 2) {
				log = append(log, make([]byte, w.rng.IntN(len(more)))...)
			}
		}
		left.log, left.synced, since = log, before.synced, [][]byte{before.db, left.db}
	}
	err := errors.Join(
		os.WriteFile(filepath.Join(n.dir, store.File), w.mixed(left.synced, since), 0o600),
		os.WriteFile(filepath.Join(n.dir, store.Log), left.log, 0o600),
	)
	if err != nil {
		panic(err)
	}
	n.tearBlobs()
	n.open()
}

// mixed returns what a disk may hold of a database after a power cut: all of the state that was
// synced last, and any part of what was written on it since.
func (w *world) mixed(synced []byte, since [][]byte) []byte {
	const page, sector = 4096, 512
	length := len(synced)
	if w.chance(1, 2) { // how long it is was not synced either
		length = max(length, len(since[w.rng.IntN(len(since))]))
	}
	states := append(since, synced)
	b := make([]byte, length)
	for at := 0; at < length; at += sector {
		if at%page != 0 && !w.chance(1, 16) {
			continue
		}
		from := states[w.rng.IntN(len(states))]
		if at < len(from) {
			copy(b[at:min(at+page-at%page, length)], from[at:])
		}
	}
	return b
}

// torn returns what a disk may hold after a power cut between two states of a database that has no
// log: it syncs the pages of a transaction before the page that makes them valid. Only the last transaction can
// be torn.
func (w *world) torn(before, after []byte) []byte {
	const page = 4096
	tx := func(b []byte, at int) uint64 { return binary.LittleEndian.Uint64(b[at*page+16+48:]) }
	newest := 0
	if tx(after, 1) > tx(after, 0) {
		newest = 1
	}
	switch kind := w.rng.IntN(4); {
	case bytes.Equal(before, after), kind == 0:
		return after // all was written, only the word of it is lost
	case kind == 1:
		// The page that makes the last transaction valid is half written; the one before it is
		// valid.
		b := bytes.Clone(after)
		from := newest*page + 16 + w.rng.IntN(64)
		for i := from; i < newest*page+page; i++ {
			b[i] = byte(w.rng.Uint32())
		}
		return b
	case max(tx(after, 0), tx(after, 1)) == max(tx(before, 0), tx(before, 1))+1:
		// One transaction: of its pages any part, but not the one that makes them valid.
		b := bytes.Clone(before)
		for at := 2 * page; at < len(after); at += page {
			if at >= len(b) {
				b = append(b, make([]byte, page)...)
			}
			if w.chance(1, 2) {
				end := min(at+page, len(after))
				if w.chance(1, 4) {
					end = at + 512*w.rng.IntN(8) // torn within the page
				}
				copy(b[at:], after[at:end])
			}
		}
		return b
	}
	return after
}

// wrote holds what a change says its writer saw to what the phone knew, and its stamp to theirs.
func (w *world) wrote(c *change.Change, d *disk) {
	w.know(c)
	for _, s := range c.Set {
		heads := w.headsOf(c.Record, s.Field, d.known)
		if !slices.Equal(heads, s.Sees) {
			w.fail("change %s of %s saw %v, its phone held %v", c.ID, s.Field, s.Sees, heads)
		}
		for _, id := range s.Sees {
			if before := w.made[id]; before.Stamp.String() >= c.Stamp.String() {
				w.fail("change %s is not ordered after %s, which it saw", c.ID, id)
			}
		}
	}
}

func (w *world) know(c *change.Change) {
	w.made[c.ID] = c
	w.of[c.Record] = append(w.of[c.Record], c)
}

// headsOf works out, from the changes themselves, which of some changes of a field no other one of
// them has seen.
func (w *world) headsOf(record, name string, among map[string]bool) (heads []string) {
	seen := map[string]bool{}
	for _, c := range w.of[record] {
		if !among[c.ID] {
			continue
		}
		for _, s := range c.Set {
			if s.Field == name {
				heads = append(heads, c.ID)
				for _, other := range s.Sees {
					seen[other] = true
				}
			}
		}
	}
	heads = slices.DeleteFunc(heads, func(id string) bool { return seen[id] })
	slices.Sort(heads)
	return heads
}
