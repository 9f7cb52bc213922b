// Package hub brings the changes of a place without a line to the office when there is one, and the office's to that place.
package hub

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// Line reaches the office above, which may be a hub itself.
type Line interface {
	// Exchange sends the body of a request and returns that of the reply.
	Exchange(ctx context.Context, body []byte) ([]byte, error)
	// Arrived asks how much of a blob is there; less than 0 when there is none and the office takes whole ones only.
	Arrived(ctx context.Context, name string) (n int64, whole bool, err error)
	// PutPiece sends a piece of a blob of total bytes. It returns store.ErrBlobPlace when the office has come to another place, and store.ErrBlobHash
	// when it has to begin again.
	PutPiece(ctx context.Context, name string, from, total int64, b []byte) (n int64, whole bool, err error)
}

// Hub forwards. Its queue is the journal itself: what comes after the last entry that the office has, without what came from there.
type Hub struct {
	store  *store.Store
	notes  store.Private
	sent   store.Private // blobs that the office has
	line   Line
	random io.Reader
	piece  int64
	mu     sync.Mutex // one exchange at a time
}

const (
	maxSend = 500     // changes of one request
	maxScan = 4096    // journal entries looked through for one request
	maxSize = 1 << 20 // bytes of one request
	// piece is how much of a blob goes at once: some twenty seconds of a weak line.
	piece = 256 << 10
	// maxTurns bounds the requests for one blob beyond its pieces: how often the two ends may disagree on where they are.
	maxTurns = 4
)

// The hub's notes, all in one private map, so that each exchange writes them in one transaction.
const (
	noteState   = "state"
	noteCame    = "came."    // and a change's id: it came from the office
	noteRefused = "refused." // and a change's id: the office's reason
)

// State says how far the hub has come.
type State struct {
	Device string `json:"device"`
	Store  string `json:"store"` // the office's, with its epoch, root and the last of its entries that is here
	Epoch  string `json:"epoch"`
	Root   string `json:"root"`
	Cursor uint64 `json:"cursor"`
	Sent   uint64 `json:"sent"` // the last entry of the hub's own journal that the office has
}

// Queue says what waits for the line.
type Queue struct {
	Waiting int `json:"waiting"` // changes
	Blobs   int `json:"blobs"`
	Refused int `json:"refused"` // changes that the office has set aside
}

// SetPiece makes the pieces of blobs as long as a slower line or a test needs.
func (h *Hub) SetPiece(n int64) { h.piece = max(n, 1) }

// New returns the hub of a store. random makes the names of the hub and of its requests; nil is the machine's.
func New(s *store.Store, line Line, random io.Reader) *Hub {
	if random == nil {
		random = rand.Reader
	}
	return &Hub{store: s, notes: s.Private("hub"), sent: s.Private("hub blobs"), line: line, random: random, piece: piece}
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

// came returns the changes behind Sent that came from the office.
func (h *Hub) came() (map[string]bool, error) {
	ids := map[string]bool{}
	err := h.notes.Each(func(k string, _ []byte) error {
		if id, ok := strings.CutPrefix(k, noteCame); ok {
			ids[id] = true
		}
		return nil
	})
	return ids, err
}

// Sync exchanges with the office until neither has anything new for the other, then sends the blobs it lacks.
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

// Once is one exchange; more says that another one has something to do.
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
	came, err := h.came()
	if err != nil {
		return false, err
	}
	list, looked, err := h.store.Piece(st.Sent, store.Bounds{Changes: maxSend, Bytes: maxSize, Scan: maxScan},
		func(c *change.Change) (bool, error) { return !came[c.ID], nil })
	if err != nil {
		return false, err
	}
	q := link.Request{Store: st.Store, Epoch: st.Epoch, Root: st.Root, Cursor: st.Cursor, Device: st.Device, Limit: link.MaxPull}
	if q.Nonce, err = change.NewID(h.random); err != nil {
		return false, err
	}
	for i := range list {
		q.Changes = append(q.Changes, link.Sent{Bytes: list[i].Change.Bytes()})
	}
	if planted == "the hub notes as sent before the answer" {
		early := st
		early.Sent = looked
		if err := h.keep(early, map[string][]byte{}, nil); err != nil {
			return false, err
		}
	}
	body, err := h.line.Exchange(ctx, q.Bytes())
	if err != nil {
		return false, err
	}
	p, err := link.ReadResponse(body, &q)
	if err != nil {
		return false, err
	}
	put, gone := map[string][]byte{}, []string{}
	if p.Again && planted != "the hub does not offer again" {
		// The office lost something, or is another one: everything here is offered again, also what once came from there.
		for id := range came {
			gone = append(gone, noteCame+id)
		}
		blobs := []string{}
		if err := h.sent.Each(func(name string, _ []byte) error { blobs = append(blobs, name); return nil }); err != nil {
			return false, err
		}
		if err := h.sent.Batch(nil, blobs); err != nil {
			return false, err
		}
		return true, h.keep(State{Device: st.Device, Store: p.Store, Epoch: p.Epoch}, put, gone)
	}
	if err := h.answered(&p, list, put, &gone); err != nil {
		return false, err
	}
	if err := h.take(ctx, &p, put); err != nil {
		return false, err
	}
	if looked > st.Sent {
		// What lies behind the new mark needs no note of where it came from.
		_, _, err := h.store.Piece(st.Sent, store.Bounds{Scan: int(looked - st.Sent)}, func(c *change.Change) (bool, error) {
			if came[c.ID] {
				gone = append(gone, noteCame+c.ID)
			}
			return false, nil
		})
		if err != nil {
			return false, err
		}
		st.Sent = looked
	}
	st.Store, st.Epoch, st.Root, st.Cursor = p.Store, p.Epoch, p.Root, p.Cursor
	if err := h.keep(st, put, gone); err != nil {
		return false, err
	}
	last, err := h.store.Last()
	return p.More || st.Sent < last, err
}

func (h *Hub) keep(st State, put map[string][]byte, gone []string) error {
	b, err := json.Marshal(st)
	if err != nil {
		return err
	}
	put[noteState] = b
	return h.notes.Batch(put, gone)
}

// answered notes what the office said of each change that was sent.
func (h *Hub) answered(p *link.Response, sent []store.Entry, put map[string][]byte, gone *[]string) error {
	answered := map[string]bool{}
	for _, id := range p.Acknowledged {
		answered[id] = true
		*gone = append(*gone, noteRefused+id)
	}
	for _, held := range p.Quarantined {
		answered[held.ID] = true
		put[noteRefused+held.ID] = []byte(held.Reason)
	}
	for i := range sent {
		if !answered[sent[i].Change.ID] {
			return fmt.Errorf("%w: it says nothing of change %s", link.ErrReply, sent[i].Change.ID)
		}
	}
	return nil
}

// take puts the office's changes into the journal here.
func (h *Hub) take(ctx context.Context, p *link.Response, put map[string][]byte) error {
	result, err := h.store.Add(ctx, p.Changes)
	if err != nil {
		return err
	}
	for _, id := range result.Accepted {
		put[noteCame+id] = []byte{}
	}
	var held []store.Held
	for i := range p.Changes {
		if reason := result.Refused[p.Changes[i].ID]; reason != nil {
			held = append(held, store.Held{Reason: "from the office: " + reason.Error(), Bytes: p.Changes[i].Bytes()})
		}
	}
	if len(held) > 0 {
		return h.store.Quarantine(held...)
	}
	return nil
}

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

// blobs sends each blob that the office does not have; one that fails does not hold up the others.
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

// blob sends what the office lacks of a blob, piece by piece from where it has come to.
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

// Queue says what waits for the line. It does not wait for an exchange that is under way, so that its numbers may be of a moment within one.
func (h *Hub) Queue() (q Queue, err error) {
	st, err := h.state()
	if err != nil {
		return Queue{}, err
	}
	came, err := h.came()
	if err != nil {
		return Queue{}, err
	}
	last, err := h.store.Last()
	if err != nil {
		return Queue{}, err
	}
	q.Waiting = max(int(last)-int(st.Sent)-len(came), 0)
	err = h.notes.Each(func(k string, _ []byte) error {
		if strings.HasPrefix(k, noteRefused) {
			q.Refused++
		}
		return nil
	})
	if err != nil {
		return Queue{}, err
	}
	names, err := h.unsentBlobs()
	q.Blobs = len(names)
	return q, err
}
