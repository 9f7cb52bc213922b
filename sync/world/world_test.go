package world

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
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

// node is an office or a hub: the real store, exchange and forwarding, on a disk that can be full
// and loses what was not synced.
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
	lent   bool    // an image has that: it may not be written on
	images []image // while a power cut is played: what the files hold after each transaction
	noLog  bool    // it syncs each transaction by itself

	address string  // of the database that has its plant, "" for its folder
	mortal  *mortal // that database
}

// image is a copy of a node's files. The disk surely has only synced and log.
type image struct{ synced, db, log []byte }

// Some of the long values reach these bounds.
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

// world is one bad day. All its randomness comes from its seed.
type world struct {
	plant   func() string // makes an empty plant in a database for the office; nil for in its folder
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
	written  map[string]string           // its bytes
	of       map[string][]*change.Change // by record
	blobs    map[string]*blob
	kept     map[string]*phone // changes whose writer was told that they were kept, with the phone that holds them
	promised map[string]bool   // changes that an office or hub acknowledged
	decided  map[string]bool   // changes that the office itself wrote
	held     map[string]bool   // changes that a phone or hub received with a signature
	lost     map[string]bool   // changes whose phone was wiped before they were acknowledged
	even     map[string]bool   // records that narrow phones hold
	revoked  map[string]bool   // users
	heads    []store.Head      // of the office
	backup   []byte
	undone   map[string]bool     // decisions that a restored copy did not have
	unproven map[string]bool     // those of undone that were signed by a key which the copy does not have
	erased   map[string]*erasure // by the change that something was erased from
	failures []string
	steps    int
	counts   map[string]int
}

func (w *world) chance(n, of int) bool { return w.rng.IntN(of) < n }

// apart is chance for what depends on how long a database is, which is not the same each time that a
// world is played: its pages lie where a map's order put them. What follows must not depend on it.
func (w *world) apart() *rand.Rand { return rand.New(rand.NewPCG(w.rng.Uint64(), w.seed)) }

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
		Synced: func() {
			if n.lent {
				n.synced, n.lent = nil, false
			}
			n.synced = n.readInto(n.synced, store.File)
		}}
}

// read returns what a file would hold if nothing were lost.
func (n *node) read(name string) []byte { return n.readInto(nil, name) }

// readInto is read into the space of b, where that is enough.
func (n *node) readInto(b []byte, name string) []byte {
	f, err := os.Open(filepath.Join(n.dir, name))
	if err != nil {
		panic(err)
	}
	defer f.Close() // it was only read
	i, err := f.Stat()
	if err != nil {
		panic(err)
	}
	if size := int(i.Size()); cap(b) < size {
		b = make([]byte, size, size+size/4)
	}
	b = b[:i.Size()]
	if _, err := io.ReadFull(f, b); err != nil {
		panic(err)
	}
	return b
}

func (n *node) image() image {
	n.lent = true
	return image{n.synced, n.read(store.File), n.read(store.Log)}
}

func (n *node) open() {
	open := func() (*store.Store, error) { return store.OpenWith(n.dir, n.options()) }
	if n.address != "" {
		open = func() (*store.Store, error) { return openElsewhere(n) }
	}
	s, err := open()
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

// stopped ends a world that cannot go on. Its failures say why.
type stopped struct{}

var errCut = errors.New("the line was cut")

// carry brings a request to a node and its reply back, over a network that drops, repeats, delays
// and alters.
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

// portal is a network's log-in page that answers everything as an office would, but cannot know the
// nonce.
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
	if q.After != "" && (from == nil || from.taken != q.After) {
		w.counts["second piece without the first"]++
		return nil // as the server refuses it
	}
	side := n.side(from)
	p, err := side.Serve(context.Background(), q, time.UnixMilli(w.now).UTC().Format(time.RFC3339Nano))
	if err != nil {
		if n.refuses() {
			w.counts["refused, disk full"]++
			return nil // the sender gets an error
		}
		w.fail("%s cannot serve: %v", n.name, err)
		panic(stopped{})
	}
	for _, id := range p.Acknowledged {
		w.promised[id] = true
	}
	if from != nil {
		from.taken = q.Nonce
	}
	return p.Bytes()
}

// side is a node's side of an exchange with a phone, or with a hub if from is nil. The office has
// the accounts.
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
	if n.above == nil {
		s.OnAccepted = func([]change.Change) { w.eraseAgain() }
	}
	if from != nil {
		s.Sender, s.Nothing = from.user, n.above == nil && w.revoked[from.user]
	}
	return s
}

// refusals returns what a phone or a hub has to know of changes that were acknowledged or held
// before.
func (n *node) refusals(from *phone) (refused []link.Held, err error) {
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
		refused = append(refused, link.Held(r))
	}
	if n.hub == nil {
		return refused, nil
	}
	above, err := n.hub.Refused()
	for i := range above {
		if from == nil || above[i].Change.Author == from.user {
			refused = append(refused, link.Held{ID: above[i].Change.ID, Reason: above[i].Reason})
		}
	}
	return refused, err
}

// endOrReturn ends the account of a phone's user at the office, or restores it. The office then
// judges again what it holds of that user.
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

// overlooked is a reply of an office that missed the last change of a request and does not mention
// it.
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

// PutPiece carries a piece of a blob to the node above.
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
	if err != nil && !errors.Is(err, errCut) && !(n.w.faults && errors.Is(err, link.ErrReply)) && !n.above.refuses() && !n.refuses() {
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
	decided := maps.Clone(w.decided)
	held := map[string]bool{}
	for sum, b := range w.blobs {
		held[sum] = b.promised
	}
	silent := func() { // nobody heard what it said
		w.promised = promised
		for sum, b := range w.blobs {
			b.promised = held[sum]
		}
	}
	forget := func() { // what the office decided meanwhile may be cut off
		if n != w.office {
			return
		}
		kept := w.journalOf(n)
		for id := range w.decided {
			if !decided[id] && !kept[id] {
				delete(w.decided, id)
			}
		}
	}
	if n.mortal != nil {
		n.ending(work)
		silent()
		forget()
		return
	}
	n.images = []image{n.image()}
	work()
	images := n.images
	n.images = nil
	n.close()
	silent()
	rng := w.apart()
	after := w.rng.IntN(len(images)) // of the transactions, the one that is cut
	left, before := images[after], images[max(after-1, 0)]
	since := [][]byte{left.db} // states since all was synced
	if &left.synced[0] == &before.synced[0] {
		since = append(since, before.db)
	}
	if after > 0 && w.chance(1, 2) { // within it: its record is torn or missing
		w.counts["log torn"]++
		log := before.log
		if more, ok := bytes.CutPrefix(left.log, before.log); ok && len(more) > 0 {
			log = append(bytes.Clone(log), more[:rng.IntN(len(more))]...)
			if rng.IntN(2) == 0 {
				log = append(log, make([]byte, rng.IntN(len(more)))...)
			}
		}
		left.log, left.synced, since = log, before.synced, [][]byte{before.db} // it had to wait for its record
	}
	err := errors.Join(
		os.WriteFile(filepath.Join(n.dir, store.File), mixed(rng, left.synced, since), 0o600),
		os.WriteFile(filepath.Join(n.dir, store.Log), left.log, 0o600),
	)
	if err != nil {
		panic(err)
	}
	n.tearBlobs()
	n.open()
	forget()
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
	w.written[c.ID] = string(c.Bytes())
	w.of[c.Record] = append(w.of[c.Record], c)
}

// headsOf computes, from the changes themselves, which changes of a field no other one has seen.
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
