package hub_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/hub"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

func open(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func made(id, record string, count uint64) change.Change {
	return change.Change{ID: id, Device: "d1", Seq: count + 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(count, 0, "d1"),
		Record: record, Kind: "visit", Set: []change.Setting{{Field: "f", Value: []byte(`"2.50"`)}}}
}

var errCut = errors.New("no line")

// line reaches an office in this process; it counts what it carries.
type line struct {
	side             link.Side
	cut              bool
	requests, pushed int
	badBlob          string
	wholeOnly        bool
	silent           string // the reply does not mention this change
	bar              func(*change.Change) error
	pieces           []int // length of each piece
	breakAt          int   // the line breaks at this piece
}

func (l *line) Exchange(ctx context.Context, body []byte) ([]byte, error) {
	if l.cut {
		return nil, errCut
	}
	q, err := link.ReadRequest(body)
	if err != nil {
		return nil, err
	}
	l.requests, l.pushed = l.requests+1, l.pushed+len(q.Changes)
	p, err := l.side.Serve(ctx, q, "2026-03-04T05:06:08Z")
	p.Acknowledged = slices.DeleteFunc(p.Acknowledged, func(id string) bool { return id == l.silent })
	return p.Bytes(), err
}

func (l *line) Arrived(_ context.Context, name string) (int64, bool, error) {
	n, whole, err := l.side.Store.Arrived(name)
	if l.wholeOnly && !whole {
		n = -1
	}
	return n, whole, err
}

func (l *line) PutPiece(_ context.Context, name string, from, total int64, b []byte) (int64, bool, error) {
	if name == l.badBlob {
		return 0, false, errCut
	}
	l.pieces = append(l.pieces, len(b))
	if l.breakAt > 0 && len(l.pieces) == l.breakAt {
		return 0, false, errCut
	}
	return l.side.Store.PutPiece(name, from, total, b)
}

func office(s *store.Store) *line {
	l := &line{bar: func(c *change.Change) error {
		if c.Record == "barred" {
			return errors.New("the account was revoked")
		}
		return nil
	}}
	l.side = link.Side{Store: s, Sender: "hvb", MayWrite: func(c *change.Change) error { return l.bar(c) }, Refusals: func() (list []link.Held, err error) {
		listed, err := s.RefusalsFrom("hvb", 100)
		for _, one := range listed {
			list = append(list, link.Held(one))
		}
		return list, err
	}, InScope: func(*change.Change) (bool, error) { return true, nil }}
	return l
}

func add(t *testing.T, s *store.Store, c ...change.Change) {
	t.Helper()
	if r, err := s.Add(context.Background(), c); err != nil || len(r.Refused) > 0 {
		t.Fatal(r, err)
	}
}

func size(t *testing.T, s *store.Store) int {
	t.Helper()
	n, err := s.Last()
	if err != nil {
		t.Fatal(err)
	}
	return int(n)
}

func queue(t *testing.T, h *hub.Hub) hub.Queue {
	t.Helper()
	q, err := h.Queue()
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// TestForwardsInPiecesAndTakes: more changes than fit into one request go up, the office's changes
// come down, nothing is sent twice, and the next sync is one empty request.
func TestForwardsInPiecesAndTakes(t *testing.T) {
	here, there := open(t), open(t)
	l := office(there)
	h := hub.New(here, l, nil)
	var mine, theirs []change.Change
	for i := range 1200 {
		mine = append(mine, made(fmt.Sprintf("m%d", i), fmt.Sprintf("r%d", i%7), uint64(i)))
	}
	for i := range 2500 {
		theirs = append(theirs, made(fmt.Sprintf("t%d", i), fmt.Sprintf("r%d", i%5), uint64(i)))
	}
	add(t, here, mine...)
	add(t, there, theirs...)
	l.cut = true
	if err := h.Sync(context.Background()); !errors.Is(err, errCut) {
		t.Fatalf("without a line: %v", err)
	}
	if q := queue(t, h); q.Waiting != 1200 {
		t.Errorf("waiting %+v", q)
	}
	l.cut = false
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if size(t, here) != 3700 || size(t, there) != 3700 || l.pushed != 1200 || queue(t, h) != (hub.Queue{}) {
		t.Errorf("%d here, %d there, %d pushed, %+v", size(t, here), size(t, there), l.pushed, queue(t, h))
	}
	l.requests = 0
	if err := hub.New(here, l, nil).Sync(context.Background()); err != nil || l.requests != 1 || l.pushed != 1200 {
		t.Errorf("idle: %d requests, %d pushed, %v", l.requests, l.pushed, err)
	}
}

// TestSetAsideIsShownAndHoldsNobodyUp: what the office sets aside is counted, and the rest goes on.
func TestSetAsideIsShownAndHoldsNobodyUp(t *testing.T) {
	here, there := open(t), open(t)
	h := hub.New(here, office(there), nil)
	add(t, here, made("c1", "r1", 0), made("c2", "barred", 1), made("c3", "r1", 2))
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if q := queue(t, h); q.Refused != 1 || q.Waiting != 0 || size(t, there) != 2 {
		t.Errorf("%+v, %d at the office", q, size(t, there))
	}
	if held, err := there.Quarantined(); err != nil || len(held) != 1 {
		t.Errorf("%v, %v", held, err)
	}
}

// TestAnotherOfficeGetsEverything: if the office's journal is a new one, all changes and blobs go
// up again.
func TestAnotherOfficeGetsEverything(t *testing.T) {
	here, first, second := open(t), open(t), open(t)
	l := office(first)
	h := hub.New(here, l, nil)
	add(t, here, made("c1", "r1", 0))
	add(t, first, made("c2", "r1", 0))
	photo := []byte("photo")
	sum := sha256.Sum256(photo)
	name := hex.EncodeToString(sum[:])
	if err := here.PutBlob(name, photo); err != nil {
		t.Fatal(err)
	}
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	l.side.Store = second
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*store.Store{"first": first, "second": second, "hub": here} {
		if size(t, s) != 2 {
			t.Errorf("%s has %d changes", name, size(t, s))
		}
	}
	if has, err := second.HasBlob(name); err != nil || !has {
		t.Errorf("the photo is not at the second office: %v, %v", has, err)
	}
}

// TestOneBadBlobHoldsUpNothing: the others arrive; the bad one stays in the queue and is named.
func TestOneBadBlobHoldsUpNothing(t *testing.T) {
	here, there := open(t), open(t)
	l := office(there)
	h := hub.New(here, l, nil)
	var names []string
	for i := range 3 {
		b := fmt.Appendf(nil, "photo %d", i)
		sum := sha256.Sum256(b)
		names = append(names, hex.EncodeToString(sum[:]))
		if err := here.PutBlob(names[i], b); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(here.Dir()+"/blobs/arriving-1", nil, 0o600); err != nil {
		t.Fatal(err)
	}
	l.badBlob = names[1]
	if err := h.Sync(context.Background()); !errors.Is(err, errCut) {
		t.Errorf("the bad blob: %v", err)
	}
	if q := queue(t, h); q.Blobs != 1 {
		t.Errorf("%+v", q)
	}
	l.badBlob = ""
	if err := h.Sync(context.Background()); err != nil || queue(t, h).Blobs != 0 {
		t.Errorf("%v, %+v", err, queue(t, h))
	}
}

// TestBlobGoesOnWhereItCameTo: a line that breaks within a blob costs one piece. An office that
// takes no pieces gets the whole blob. Bytes that went bad on the office's disk are sent again.
func TestBlobGoesOnWhereItCameTo(t *testing.T) {
	here, there, old := open(t), open(t), open(t)
	b := make([]byte, 950)
	for i := range b {
		b[i] = byte(i * i)
	}
	sum := sha256.Sum256(b)
	name := hex.EncodeToString(sum[:])
	if err := here.PutBlob(name, b); err != nil {
		t.Fatal(err)
	}
	l := office(there)
	l.breakAt = 5
	h := hub.New(here, l, nil)
	h.SetPiece(100)
	if err := h.Sync(context.Background()); !errors.Is(err, errCut) {
		t.Fatal(err)
	}
	half := there.Dir() + "/blobs/arriving-" + name
	if err := os.WriteFile(half, append(b[:300:300], make([]byte, 100)...), 0o600); err != nil { // a power cut lost the last piece's bytes
		t.Fatal(err)
	}
	l.breakAt, l.pieces = 0, nil
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if len(l.pieces) != 6+10 {
		t.Errorf("%d pieces went up: %v", len(l.pieces), l.pieces)
	}
	second := office(old)
	second.wholeOnly = true
	if err := hub.New(here, second, nil).Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	for _, s := range []*store.Store{there, old} {
		if got, err := s.Blob(name); err != nil || string(got) != string(b) {
			t.Errorf("%d bytes, %v", len(got), err)
		}
	}
	if len(second.pieces) != 1 {
		t.Errorf("to the older office went %v", second.pieces)
	}
}

// TestSilenceIsNoAcknowledgement: the hub sends again what a reply does not mention.
func TestSilenceIsNoAcknowledgement(t *testing.T) {
	here, there := open(t), open(t)
	l := office(there)
	h := hub.New(here, l, nil)
	add(t, here, made("c1", "r1", 0), made("c2", "r1", 1))
	l.silent = "c2"
	if err := h.Sync(context.Background()); !errors.Is(err, link.ErrReply) {
		t.Errorf("a reply that says nothing of c2: %v", err)
	}
	if q := queue(t, h); q.Waiting != 2 {
		t.Errorf("%+v", q)
	}
	l.silent = ""
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if q := queue(t, h); q.Waiting != 0 || l.pushed != 4 {
		t.Errorf("%+v, %d pushed", q, l.pushed)
	}
}

// TestRefusedIsKeptAndOfferedAgain: a change that the office refuses is named with its author and
// reason, offered again on request, and dropped from the list once the office has taken it by any
// path. The hub passes on what the office reports of it later.
func TestRefusedIsKeptAndOfferedAgain(t *testing.T) {
	here, there := open(t), open(t)
	l := office(there)
	barred, bens := l.bar, made("c3", "r2", 2)
	bens.Author = "ben"
	h := hub.New(here, l, nil)
	add(t, here, made("c1", "r1", 0), made("c2", "barred", 1), bens)
	l.bar = func(c *change.Change) error {
		if c.Author == "ben" {
			return errors.New("its author has no account here")
		}
		return barred(c)
	}
	sync := func() {
		t.Helper()
		if err := h.Sync(context.Background()); err != nil {
			t.Fatal(err)
		}
	}
	refused := func() (all string) {
		t.Helper()
		list, err := h.Refused()
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range list {
			all += fmt.Sprintf("%s of %s: %s; ", r.Change.ID, r.Change.Author, r.Reason)
		}
		return all
	}
	sync()
	if got := refused(); got != "c2 of an: the account was revoked; c3 of ben: its author has no account here; " {
		t.Errorf("%s", got)
	}
	before := l.pushed
	sync()
	if l.pushed != before {
		t.Errorf("%d sent unasked", l.pushed-before)
	}
	// The office refuses for good.
	held, err := there.Quarantined()
	if err != nil || len(held) != 2 {
		t.Fatal(held, err)
	}
	if err := there.CloseHeld(held[0].Seq, store.Closing{How: store.ClosedRejected, Why: "typed twice"}); err != nil {
		t.Fatal(err)
	}
	sync()
	if got := refused(); got != "c2 of an: rejected by the office: typed twice; c3 of ben: its author has no account here; " {
		t.Errorf("%s", got)
	}
	// The account is there now; the line breaks at the first offer.
	l.bar = barred
	if err := h.Offer(); err != nil {
		t.Fatal(err)
	}
	l.cut = true
	if err := h.Sync(context.Background()); !errors.Is(err, errCut) {
		t.Fatal(err)
	}
	l.cut = false
	sync()
	if got := refused(); got != "c2 of an: rejected by the office: typed twice; " || size(t, there) != 2 {
		t.Errorf("%s, %d at the office", got, size(t, there))
	}
	// The office takes the other one in itself.
	l.bar = func(*change.Change) error { return nil }
	if _, err := l.side.Reconsider(context.Background(), held[:1]); err != nil {
		t.Fatal(err)
	}
	sync()
	if got := refused(); got != "" || size(t, there) != 3 || size(t, here) != 3 {
		t.Errorf("%s, %d there, %d here", got, size(t, there), size(t, here))
	}
}
