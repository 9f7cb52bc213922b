package hub

import (
	"cmp"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// Line reaches the office above, which may be a hub itself.
type Line interface {
	// Exchange sends the body of a request and returns the body of the reply.
	Exchange(ctx context.Context, body []byte) ([]byte, error)
	// Arrived asks how much of a blob the other side has; less than 0 if it has nothing and takes
	// only whole blobs.
	Arrived(ctx context.Context, name string) (n int64, whole bool, err error)
	// PutPiece sends a piece of a blob of total bytes. It returns store.ErrBlobPlace if the office
	// expects another place, and store.ErrBlobHash if the blob must be sent again from its start.
	PutPiece(ctx context.Context, name string, from, total int64, b []byte) (n int64, whole bool, err error)
}

// Hub forwards. Its queue is the journal itself: everything after the last entry that the office
// has, without what came from the office.
type Hub struct {
	store  *store.Store
	notes  store.Private
	sent   store.Private // blobs that the office has
	given  store.Private // what the office sent, by group (back.go)
	line   Line
	random io.Reader
	piece  int64
	size   int        // bytes of changes in one request
	mu     sync.Mutex // one exchange at a time
	looked bool       // takeLater has been through what came from a newer office
	again  []string   // refused changes that still have to be offered again
}

const (
	maxSend = 500     // changes of one request
	maxScan = 4096    // journal entries looked through for one request
	maxSize = 1 << 20 // bytes of one request
	// piece is how much of a blob goes at once: some twenty seconds of a weak line.
	piece = 256 << 10
	// maxTurns bounds the requests for one blob beyond its pieces: how often the two ends may
	// disagree on how much has arrived.
	maxTurns = 4
)

// The hub's notes are all in one private map, so that each exchange writes them in one transaction.
const (
	noteState   = "state"
	noteCame    = "came."    // and a change's id: it came from the office
	noteRefused = "refused." // and a change's id: the office's reason in its answer
	noteAbove   = "above."   // and a change's id: a reason that the office reports later, also for what was refused further up
)

// State says how far the hub has come.
type State struct {
	Device string `json:"device"`
	Store  string `json:"store"` // the office's, with its epoch, root and the last of its entries that is here
	Epoch  string `json:"epoch"`
	Root   string `json:"root"`
	Cursor uint64 `json:"cursor"`
	Sent   uint64 `json:"sent"` // the last entry of the hub's own journal that the office has answered
	// Refused names the refusals that the office has reported, as the exchange does.
	Refused string `json:"refused,omitempty"`
	// Groups counts the groups that the office sent, from 1. Back is the next group to offer it
	// again, 0 for none; BackTo is the last one.
	Groups uint64 `json:"groups,omitempty"`
	Back   uint64 `json:"back,omitempty"`
	BackTo uint64 `json:"back_to,omitempty"`
	// Passed and Passing are the numbers of the last changes of newer programs that went up and
	// came down.
	Passed  uint64 `json:"passed,omitempty"`
	Passing uint64 `json:"passing,omitempty"`
}

// Queue says what is waiting for the line.
type Queue struct {
	Waiting int `json:"waiting"` // changes
	Blobs   int `json:"blobs"`
	Refused int `json:"refused"` // changes that the office has set aside
}

// SetPiece sets the length of the pieces of blobs, for a slower line or a test.
func (h *Hub) SetPiece(n int64) { h.piece = max(n, 1) }

// SetSize sets about how many bytes of changes a request carries.
func (h *Hub) SetSize(n int) { h.size = max(n, 1) }

// New returns the hub of a store. random makes the names of the hub and of its requests; nil uses
// the machine's.
func New(s *store.Store, line Line, random io.Reader) *Hub {
	if random == nil {
		random = rand.Reader
	}
	return &Hub{
		store: s, notes: s.Private("hub"), sent: s.Private("hub blobs"), given: s.Private("hub given"),
		line: line, random: random, piece: piece, size: maxSize,
	}
}

func (h *Hub) state() (st State, err error) {
	b, err := h.notes.Get(noteState)
	if err != nil {
		return State{}, err
	}
	if b != nil {
		if err := json.Unmarshal(b, &st); err != nil {
			return State{}, fmt.Errorf("the hub's notes are damaged: %w", err)
		}
		return st, nil
	}
	st.Device, err = change.NewID(h.random)
	return st, err
}

// notes are what the hub knows of single changes, by id.
type notes struct {
	came    map[string]bool   // of the changes after Sent: they came from the office
	refused map[string]string // why the office does not take it
	above   map[string]string
}

func (h *Hub) noted() (notes, error) {
	n := notes{map[string]bool{}, map[string]string{}, map[string]string{}}
	err := h.notes.Each(func(k string, v []byte) error {
		if id, ok := strings.CutPrefix(k, noteCame); ok {
			n.came[id] = true
		}
		if id, ok := strings.CutPrefix(k, noteRefused); ok {
			n.refused[id] = string(v)
		}
		if id, ok := strings.CutPrefix(k, noteAbove); ok {
			n.above[id] = string(v)
		}
		return nil
	})
	return n, err
}

// all returns every refusal with its latest reason.
func (n *notes) all() map[string]string {
	all := maps.Clone(n.refused)
	maps.Copy(all, n.above)
	return all
}

// Refused is a change that was accepted here and refused by the office.
type Refused struct {
	Reason string
	Change change.Change
}

// Refused returns the changes that the office refused, by author and time. The hub keeps them and
// offers them again.
func (h *Hub) Refused() (list []Refused, err error) {
	for _, prefix := range []string{noteRefused, noteAbove} {
		there, err := h.notes.Has(prefix)
		if err != nil {
			return nil, err
		}
		if !there {
			continue
		}
		return h.refusals()
	}
	return nil, nil
}

func (h *Hub) refusals() (list []Refused, err error) {
	n, err := h.noted()
	if err != nil {
		return nil, err
	}
	for id, reason := range n.all() {
		c, ok, err := h.store.Change(id)
		if err == nil && !ok {
			c, ok, err = h.unread(id)
		}
		if err != nil {
			return nil, err
		}
		if ok {
			list = append(list, Refused{reason, c})
		}
	}
	slices.SortFunc(list, func(a, b Refused) int {
		return cmp.Or(
			strings.Compare(a.Change.Author, b.Change.Author),
			strings.Compare(a.Change.Wall, b.Change.Wall), strings.Compare(a.Change.ID, b.Change.ID),
		)
	})
	return list, nil
}

// Offer makes the next exchanges offer again what the office has refused, since accounts may have
// changed there.
func (h *Hub) Offer() error {
	h.mu.Lock()
	defer h.mu.Unlock()
	n, err := h.noted()
	h.again = slices.Sorted(maps.Keys(n.refused))
	return err
}

// load is what one request carries.
type load struct {
	list    []link.Sent
	offered int    // how many of the refused changes it goes through
	looked  uint64 // the last journal entry that was examined for it
	passed  uint64 // the number of the last change of a newer program
}

// next returns what the next request carries.
func (h *Hub) next(st *State, n *notes) (l load, err error) {
	l.looked, l.passed = st.Sent, st.Passed
	for size := 0; l.offered < len(h.again) && len(l.list) < maxSend && size < h.size; l.offered++ {
		one, ok, err := h.sentOf(h.again[l.offered])
		if err != nil {
			return l, err
		}
		if ok {
			l.list, size = append(l.list, one), size+len(one.Bytes)
		}
	}
	if len(l.list) > 0 {
		return l, nil
	}
	entries, looked, err := h.store.Piece(st.Sent, store.Bounds{Changes: maxSend, Bytes: h.size, Scan: maxScan},
		func(c *change.Change) (bool, error) { return !n.came[c.ID], nil })
	if err != nil {
		return l, err
	}
	l.looked = looked
	for i := range entries {
		l.list = append(l.list, link.Sent{ID: entries[i].Change.ID, Bytes: entries[i].Change.Bytes()})
	}
	if len(l.list) == 0 {
		l.list, l.passed, err = h.passingOn(st)
	}
	return l, err
}

// Sync exchanges with the office until neither has anything new for the other, then sends the blobs
// that the office lacks.
func (h *Hub) Sync(ctx context.Context) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	for more := true; more; {
		var err error
		if more, err = h.once(ctx); err != nil {
			return err
		}
	}
	return h.blobs(ctx)
}

// Once does one exchange. more says that another exchange has work to do.
func (h *Hub) Once(ctx context.Context) (more bool, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.once(ctx)
}

func (h *Hub) once(ctx context.Context) (more bool, err error) {
	st, err := h.state()
	if err != nil {
		return false, err
	}
	n, err := h.noted()
	if err != nil {
		return false, err
	}
	if st.Back > 0 {
		return true, h.giveBack(ctx, &st)
	}
	l, err := h.next(&st, &n)
	if err != nil {
		return false, err
	}
	q, err := h.request(&st)
	if err != nil {
		return false, err
	}
	q.Changes = l.list
	if planted == "the hub notes as sent before the answer" {
		early := st
		early.Sent = l.looked
		if err := h.keep(early, map[string][]byte{}, nil); err != nil {
			return false, err
		}
	}
	p, err := h.exchange(ctx, &q)
	if err != nil {
		return false, err
	}
	if p.Again && planted != "the hub does not offer again" {
		return true, h.begin(&p, &st)
	}
	put, gone := map[string][]byte{}, []string{}
	if err := answered(&p, l.list, put, &gone); err != nil {
		return false, err
	}
	before := st.Groups
	if err := h.keepGroup(&st, &p, false); err != nil {
		return false, err
	}
	if err := errors.Join(h.takeLater(ctx, put), h.take(ctx, &p, put)); err != nil {
		return false, err
	}
	st.Groups = before
	if err := h.keepGroup(&st, &p, true); err != nil {
		return false, err
	}
	for i := range p.Changes { // what the office has now, it no longer refuses
		for _, note := range []string{noteRefused, noteAbove} {
			delete(put, note+p.Changes[i].ID)
			gone = append(gone, note+p.Changes[i].ID)
		}
	}
	if p.News {
		h.news(&p, &n, put, &gone)
		st.Refused = p.Refused
	}
	if st.BackTo > 0 && !p.More {
		if err := h.dropGroups(&st); err != nil {
			return false, err
		}
	}
	if l.looked > st.Sent {
		// Changes before the new mark need no note of where they came from.
		passed := func(c *change.Change) (bool, error) {
			if n.came[c.ID] {
				gone = append(gone, noteCame+c.ID)
			}
			return false, nil
		}
		_, _, err := h.store.Piece(st.Sent, store.Bounds{Scan: int(l.looked - st.Sent)}, passed)
		if err != nil {
			return false, err
		}
		st.Sent = l.looked
	}
	st.Passed, st.Passing = l.passed, max(st.Passing, p.Passed)
	st.Store, st.Epoch, st.Root, st.Cursor = p.Store, p.Epoch, p.Root, p.Cursor
	if err := h.keep(st, put, gone); err != nil {
		return false, err
	}
	h.again = h.again[l.offered:]
	last, err := h.store.Last()
	if err != nil {
		return false, err
	}
	passing, _, err := h.passingOn(&st)
	return p.More || st.Sent < last || len(h.again)+len(passing)+len(p.Passing) > 0, err
}

// news replaces the list of refused changes by the office's new list.
func (h *Hub) news(p *link.Response, n *notes, put map[string][]byte, gone *[]string) {
	for id := range n.above {
		*gone = append(*gone, noteAbove+id)
	}
	for _, one := range p.Refusals {
		put[noteAbove+one.ID] = []byte(one.Reason)
	}
}

func (h *Hub) keep(st State, put map[string][]byte, gone []string) error {
	b, err := json.Marshal(st)
	if err != nil {
		return err
	}
	put[noteState] = b
	return h.notes.Batch(put, gone)
}

// answered records the office's answer to each change that was sent.
func answered(p *link.Response, sent []link.Sent, put map[string][]byte, gone *[]string) error {
	answered := map[string]bool{}
	for _, id := range p.Acknowledged {
		answered[id] = true
		*gone = append(*gone, noteRefused+id, noteAbove+id)
	}
	for _, held := range p.Quarantined {
		answered[held.ID] = true
		put[noteRefused+held.ID] = []byte(held.Reason)
	}
	for _, id := range p.Newer { // kept here, and offered again once the office may be up to date
		answered[id] = true
		put[noteRefused+id] = []byte(newerAbove)
	}
	for i := range sent {
		if !answered[sent[i].ID] && planted != "silence is an acknowledgement" {
			return fmt.Errorf("%w: it says nothing of change %s", link.ErrReply, sent[i].ID)
		}
	}
	return nil
}

// take puts the office's changes into the journal here.
func (h *Hub) take(ctx context.Context, p *link.Response, put map[string][]byte) error {
	refused, err := h.came(ctx, p.Changes, put)
	if err != nil {
		return err
	}
	held := aside(p.Changes, refused)
	if len(held) > 0 {
		err = h.store.Quarantine(held...)
	}
	return errors.Join(err, h.passedDown(ctx, p, put))
}

// came puts changes of the office into the journal and notes that they came from there.
func (h *Hub) came(
	ctx context.Context, list []change.Change, put map[string][]byte,
) (refused map[string]error, err error) {
	r, err := h.store.Add(ctx, list)
	for _, id := range r.Accepted {
		put[noteCame+id] = []byte{}
	}
	return r.Refused, err
}

// aside returns the office's changes that cannot be taken, with the reason, for the quarantine.
func aside(list []change.Change, refused map[string]error) (held []store.Held) {
	for i := range list {
		if why := refused[list[i].ID]; why != nil {
			held = append(held, store.Held{Reason: fromOffice + why.Error(), Bytes: list[i].Bytes()})
		}
	}
	return held
}

const (
	newerAbove = "a newer program wrote this than the office has; " +
		"it is sent again when that is brought up to date"
	fromNewer = "from the office: a newer program wrote this than is here"
)

func (h *Hub) unsentBlobs() (names []string, err error) {
	sent := map[string]bool{}
	err = h.sent.Each(func(name string, _ []byte) error { sent[name] = true; return nil })
	if err != nil {
		return nil, err
	}
	list, err := os.ReadDir(filepath.Join(h.store.Dir(), "blobs"))
	if err != nil {
		return nil, err
	}
	for _, e := range list {
		if store.IsBlobName(e.Name()) && !sent[e.Name()] {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// blobs sends each blob that the office lacks. One that fails does not hold up the others.
func (h *Hub) blobs(ctx context.Context) error {
	names, err := h.unsentBlobs()
	if err != nil {
		return err
	}
	var failed error
	for _, name := range names {
		if err := h.blob(ctx, name); err != nil {
			failed = errors.Join(failed, fmt.Errorf("blob %s: %w", name, err))
			if ctx.Err() != nil {
				break
			}
			continue
		}
		if err := h.sent.Put(name, []byte{}); err != nil {
			return errors.Join(failed, err)
		}
	}
	return failed
}

// blob sends the rest of a blob piece by piece, from where the office has got to.
func (h *Hub) blob(ctx context.Context, name string) error {
	n, whole, err := h.line.Arrived(ctx, name)
	if err != nil || whole {
		return err
	}
	b, err := h.store.Blob(name)
	if err != nil {
		return err
	}
	size := h.piece
	if n < 0 {
		n, size = 0, int64(len(b))
	}
	total := int64(len(b))
	for turns := 0; !whole; {
		if turns > maxTurns {
			return store.ErrBlobPlace
		}
		if n > total {
			n = 0
		}
		before := n
		n, whole, err = h.line.PutPiece(ctx, name, n, total, b[n:min(n+size, total)])
		switch {
		case errors.Is(err, store.ErrBlobPlace):
			turns++
		case errors.Is(err, store.ErrBlobHash):
			turns++
			n = 0
		case err != nil:
			return err
		case n <= before:
			turns++
		}
	}
	return nil
}

// Blobs sends each blob that the office does not have.
func (h *Hub) Blobs(ctx context.Context) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.blobs(ctx)
}

// Cursor returns the number of the office's last entry that is here.
func (h *Hub) Cursor() (uint64, error) {
	st, err := h.state()
	return st.Cursor, err
}

// Queue says what is waiting for the line. It does not wait for a running exchange, so its numbers
// may be from the middle of one.
func (h *Hub) Queue() (q Queue, err error) {
	st, err := h.state()
	if err != nil {
		return Queue{}, err
	}
	n, err := h.noted()
	if err != nil {
		return Queue{}, err
	}
	last, err := h.store.Last()
	if err != nil {
		return Queue{}, err
	}
	passing, _, err := h.passingOn(&st)
	if err != nil {
		return Queue{}, err
	}
	q.Waiting = max(int(last)-int(st.Sent)-len(n.came), 0) + len(passing)
	q.Refused = len(n.all())
	names, err := h.unsentBlobs()
	q.Blobs = len(names)
	return q, err
}
