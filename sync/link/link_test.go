package link_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

func made(id, record string, count uint64) change.Change {
	return change.Change{ID: id, Device: "d1", Seq: count + 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(count, 0, "d1"),
		Record: record, Kind: "visit", Set: []change.Setting{{Field: "f", Value: []byte(`"2.50"`)}}}
}

type reply struct {
	Store, Epoch, Root string
	Nonce, Time        string
	Cursor             uint64
	More, Again        bool
	Acknowledged       []string
	Quarantined        []struct{ ID, Reason string }
	Changes            []struct{ ID string }
}

func side(t *testing.T) *link.Side {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return &link.Side{
		Store: s, MayWrite: func(*change.Change) error { return nil },
		InScope: func(*change.Change) (bool, error) { return true, nil },
	}
}

func exchange(t *testing.T, s *link.Side, cursorStore string, cursor uint64, limit int, changes ...string) reply {
	t.Helper()
	return ask(t, s, cursorStore, s.Store.Epoch(), "", cursor, limit, changes...)
}

func ask(
	t *testing.T, s *link.Side, cursorStore, epoch, root string, cursor uint64, limit int,
	changes ...string,
) reply {
	t.Helper()
	body := fmt.Sprintf(`{"store":%q,"epoch":%q,"root":%q,"cursor":%d,"nonce":"n1","device":"d1","limit":%d,"changes":[%s]}`,
		cursorStore, epoch, root, cursor, limit, strings.Join(changes, ","))
	q, err := link.ReadRequest([]byte(body))
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Serve(context.Background(), q, "2026-03-04T05:06:08Z")
	if err != nil {
		t.Fatal(err)
	}
	var r reply
	if err := json.Unmarshal(p.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	if r.Nonce != "n1" {
		t.Errorf("nonce %q", r.Nonce)
	}
	return r
}

func text(c change.Change) string { return string(c.Bytes()) }

func TestLostReplyDoublesNothing(t *testing.T) {
	s := side(t)
	accepted := 0
	s.OnAccepted = func(c []change.Change) { accepted += len(c) }
	for range 3 {
		r := exchange(t, s, "", 0, 100, text(made("c1", "r1", 0)), text(made("c2", "r1", 1)))
		if len(r.Acknowledged) != 2 || len(r.Changes) != 2 || r.Cursor != 2 || r.More {
			t.Fatalf("%+v", r)
		}
	}
	if accepted != 2 {
		t.Errorf("heard of %d new changes", accepted)
	}
}

// TestBriefSaysThatNothingIsNew: the short answer goes only to a request that asks for it, sends
// nothing, and is at the journal's end with its present scope.
func TestBriefSaysThatNothingIsNew(t *testing.T) {
	s := side(t)
	at := exchange(t, s, "", 0, 100, text(made("c1", "r1", 0)))
	body := func(old, now string) []byte {
		whole := fmt.Sprintf(`{"store":%q,"epoch":%q,"root":%q,"cursor":%d,"nonce":"n1","device":"d1","scope":"","brief":true,"changes":[]}`, at.Store, at.Epoch, at.Root, at.Cursor)
		return []byte(strings.Replace(whole, old, now, 1))
	}
	serve := func(b []byte) string {
		t.Helper()
		q, err := link.ReadRequest(b)
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Serve(context.Background(), q, "2026-03-04T05:06:08Z")
		if err != nil {
			t.Fatal(err)
		}
		return string(p.Bytes())
	}
	const brief = `{"same":true,"nonce":"n1"}`
	if got := serve(body("", "")); got != brief {
		t.Errorf("%s", got)
	}
	c := text(made("c2", "r2", 1))
	for what, b := range map[string][]byte{
		"not asked for":       body(`"brief":true,`, ""),
		"an earlier place":    body(`"cursor":1`, `"cursor":0`),
		"another epoch":       body(at.Epoch, "e"),
		"a root that differs": body(at.Root, strings.Repeat("0", 64)),
		"another scope":       body(`"scope":""`, `"scope":"x"`),
		"no scope":            body(`"scope":"",`, ""),
		"something brought":   body(`"changes":[]`, `"changes":[`+text(made("c1", "r1", 0))+`]`),
	} {
		if got := serve(b); got == brief || !strings.Contains(got, `"epoch":`) {
			t.Errorf("%s: %s", what, got)
		}
	}
	exchange(t, s, "", 0, 100, c)
	if got := serve(body("", "")); !strings.Contains(got, c) {
		t.Errorf("after another's change: %s", got)
	}
}

func TestPullInPiecesReachesTheEnd(t *testing.T) {
	s := side(t)
	var all []change.Change
	for i := range 25 {
		all = append(all, made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i), uint64(i)))
	}
	if _, err := s.Store.Add(context.Background(), all); err != nil {
		t.Fatal(err)
	}
	s.InScope = func(c *change.Change) (bool, error) { return c.Record != "r3", nil }
	id := s.Store.StoreID()
	got, cursor, rounds := 0, uint64(0), 0
	for more := true; more; rounds++ {
		r := exchange(t, s, id, cursor, 7)
		got, cursor, more = got+len(r.Changes), r.Cursor, r.More
		if rounds > 10 {
			t.Fatal("no end")
		}
	}
	if got != 24 || cursor != 25 {
		t.Errorf("%d changes up to %d in %d rounds", got, cursor, rounds)
	}
	if r := exchange(t, s, id, cursor, 7); len(r.Changes) != 0 || r.More {
		t.Errorf("idle: %+v", r)
	}
}

// TestForeignCursorStartsAgain: a cursor that is not of this journal as it is now brings no changes
// but the request to offer everything again. The pushed change is taken all the same.
func TestForeignCursorStartsAgain(t *testing.T) {
	s := side(t)
	first := exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)))
	id, epoch := s.Store.StoreID(), s.Store.Epoch()
	if first.Again || first.Store != id || first.Epoch != epoch || len(first.Root) != 32 {
		t.Fatalf("first: %+v", first)
	}
	other := strings.Repeat("0", 64)
	for name, r := range map[string]reply{
		"another store":   ask(t, s, "other", epoch, "", 1, 10, text(made("c2", "r1", 1))),
		"another epoch":   ask(t, s, id, "other", first.Root, 1, 10),
		"no epoch":        ask(t, s, id, "", "", 1, 10),
		"beyond":          ask(t, s, id, epoch, "", 99, 10),
		"another journal": ask(t, s, id, epoch, other, 1, 10),
		"half a root":     ask(t, s, id, epoch, first.Root[:16], 1, 10),
	} {
		if !r.Again || len(r.Changes) != 0 || r.Cursor != 0 || !r.More {
			t.Errorf("%s: %+v", name, r)
		}
	}
	whole, err := s.Store.Root(1)
	if err != nil || !strings.HasPrefix(whole, first.Root) {
		t.Fatalf("%s of %s, %v", first.Root, whole, err)
	}
	if r := ask(t, s, id, epoch, whole, 1, 10); r.Again || len(r.Changes) != 1 {
		t.Errorf("all its digits, as earlier programs gave: %+v", r)
	}
	if r := ask(t, s, id, epoch, first.Root, 1, 10); r.Again || len(r.Changes) != 1 || r.Cursor != 2 ||
		r.Root == first.Root {
		t.Errorf("its own: %+v", r)
	}
}

// TestNarrowScopeIsReadInPieces: with a scope that holds almost nothing, one request does not read
// the whole journal.
func TestNarrowScopeIsReadInPieces(t *testing.T) {
	s := side(t)
	var all []change.Change
	for i := range 10_000 {
		all = append(all, made(fmt.Sprintf("c%d", i), fmt.Sprintf("x%d", i), uint64(i)))
	}
	all[9_999].Record = "r2"
	if _, err := s.Store.Add(context.Background(), all); err != nil {
		t.Fatal(err)
	}
	looked := 0
	s.InScope = func(c *change.Change) (bool, error) { looked++; return c.Record == "r2", nil }
	cursor, got := uint64(0), 0
	for rounds := 1; ; rounds++ {
		looked = 0
		r := exchange(t, s, s.Store.StoreID(), cursor, 100)
		if looked > 4096 || r.Cursor <= cursor {
			t.Fatalf("round %d looked at %d, from %d to %d", rounds, looked, cursor, r.Cursor)
		}
		cursor, got = r.Cursor, got+len(r.Changes)
		if !r.More {
			break
		}
	}
	if got != 1 || cursor != 10_000 {
		t.Errorf("%d changes, cursor %d", got, cursor)
	}
}

func TestRefusedIsKeptAndNamed(t *testing.T) {
	s := side(t)
	s.MayWrite = func(c *change.Change) error {
		if c.Record == "r2" {
			return errors.New("the account was revoked")
		}
		return nil
	}
	forged := made("c1", "r9", 5)
	r := exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)), text(made("c2", "r2", 1)), `{"id":"c3","x":1}`, `17`)
	if len(r.Acknowledged) != 1 || len(r.Quarantined) != 3 || len(r.Changes) != 1 {
		t.Fatalf("%+v", r)
	}
	r = exchange(t, s, "", 0, 10, text(forged))
	if len(r.Acknowledged) != 0 || len(r.Quarantined) != 1 || r.Quarantined[0].ID != "c1" {
		t.Errorf("forged: %+v", r)
	}
	held, err := s.Store.Quarantined()
	if err != nil || len(held) != 4 {
		t.Errorf("%d held, %v", len(held), err)
	}
}

func TestReadRequestRefuses(t *testing.T) {
	for _, body := range []string{``, `[]`, `{}`, `{"nonce":"","device":"d1","changes":[]}`, `{"nonce":"n","device":"D!","changes":[]}`,
		`{"nonce":"n","device":"d1","changes":{}}`, `{"nonce":"n","device":"d1","changes":[],"limit":0}`} {
		if _, err := link.ReadRequest([]byte(body)); err == nil {
			t.Errorf("%s: taken", body)
		}
	}
}

// TestNewerSenderIsUnderstood: an unknown field does not make the request fail.
func TestNewerSenderIsUnderstood(t *testing.T) {
	q, err := link.ReadRequest(
		[]byte(`{"nonce":"n","device":"d1","changes":[` + text(made("c1", "r1", 0)) + `],"further":{"x":1}}`),
	)
	if err != nil || len(q.Changes) != 1 || q.Changes[0].Fault != nil {
		t.Errorf("%+v, %v", q, err)
	}
}

func FuzzReadRequest(f *testing.F) {
	f.Add([]byte(`{"store":"","cursor":0,"nonce":"n1","device":"d1","changes":[` + text(made("c1", "r1", 0)) + `]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		q, err := link.ReadRequest(b)
		if err != nil && (q.Nonce != "" || q.Changes != nil) {
			t.Fatal("a request beside an error")
		}
	})
}

// TestKindsAskedForComeAlone: kinds limit only what is sent; the place moves past what was left
// out.
func TestKindsAskedForComeAlone(t *testing.T) {
	s := side(t)
	round := made("c2", "r2", 1)
	round.Kind = "round"
	exchange(t, s, "", 0, 100, text(made("c1", "r1", 0)), text(round))
	for _, c := range []struct {
		kinds string
		want  int
	}{{`["round","person"]`, 1}, {`["site"]`, 0}, {`[]`, 2}} {
		q, err := link.ReadRequest(
			[]byte(`{"cursor":0,"nonce":"n1","device":"d1","changes":[],"kinds":` + c.kinds + `}`),
		)
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Serve(context.Background(), q, "2026-03-04T05:06:08Z")
		if err != nil || len(p.Changes) != c.want || p.Cursor != 2 || p.More {
			t.Errorf("%s: %d changes, cursor %d, more %v, %v", c.kinds, len(p.Changes), p.Cursor, p.More, err)
		}
	}
}

// TestKnownIsAcknowledgedWhoeverSendsIt: a change in the journal was judged when it came. Other
// bytes under its id are not that change.
func TestKnownIsAcknowledgedWhoeverSendsIt(t *testing.T) {
	s := side(t)
	exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)))
	s.MayWrite = func(*change.Change) error { return errors.New("the account was revoked") }
	if r := exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)), text(made("c2", "r1", 1)), text(made("c1", "r9", 5))); len(r.Acknowledged) != 1 || len(r.Quarantined) != 2 {
		t.Errorf("%+v", r)
	}
	if n, err := s.Store.HeldCount(); err != nil || n != 2 {
		t.Errorf("%d held, %v", n, err)
	}
}

// TestHeldIsReconsidered: a held change is judged again and taken in if it now may be, which closes
// its entry. The person who brought it stays recorded.
func TestHeldIsReconsidered(t *testing.T) {
	s := side(t)
	s.Sender = "ben"
	s.MayWrite = func(*change.Change) error { return errors.New("the account was revoked") }
	exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)), text(made("c2", "r2", 1)), `{"id":"c3"}`)
	s.Sender = "pe11"
	s.MayWrite = func(c *change.Change) error {
		if c.ID == "c2" {
			return errors.New("it may not write this")
		}
		return nil
	}
	accepted := 0
	s.OnAccepted = func(list []change.Change) { accepted += len(list) }
	held, err := s.Store.Quarantined()
	if err != nil || len(held) != 3 {
		t.Fatal(held, err)
	}
	p, err := s.Reconsider(context.Background(), held)
	if err != nil || len(p.Acknowledged) != 1 || len(p.Quarantined) != 2 || accepted != 1 {
		t.Errorf("%+v, %v, heard of %d", p, err, accepted)
	}
	list, rest, err := s.Store.HeldAfter(0, 9, 1<<20, false)
	if err != nil || rest != 0 || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	for _, h := range list {
		if h.From != "ben" || h.Change == "c2" && h.Reason != "it may not write this" {
			t.Errorf("%+v", h)
		}
	}
}

// TestNothingGivenKeepsThePlace: a sender that gets nothing keeps its place, so that it misses
// nothing if it gets something again.
func TestNothingGivenKeepsThePlace(t *testing.T) {
	s := side(t)
	first := exchange(t, s, "", 0, 1, text(made("c1", "r1", 0)), text(made("c2", "r2", 1)), text(made("c3", "r1", 2)))
	s.Nothing = true
	if r := ask(t, s, first.Store, first.Epoch, first.Root, first.Cursor, 10); r.More || r.Cursor != 1 ||
		r.Root != first.Root || len(r.Changes) != 0 {
		t.Errorf("%+v", r)
	}
	if r := exchange(t, s, "", 0, 10); r.More || r.Cursor != 0 || len(r.Changes) != 0 {
		t.Errorf("%+v", r)
	}
	s.Nothing = false
	if r := ask(t, s, first.Store, first.Epoch, first.Root, first.Cursor, 10); r.Cursor != 3 || len(r.Changes) != 2 {
		t.Errorf("%+v", r)
	}
}

// TestRefusalsAreTold: a sender that asks gets the list of refusals each time it has changed, and
// one that asks about changes gets those that are there.
func TestRefusalsAreTold(t *testing.T) {
	s := side(t)
	at := exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)))
	var list []link.Held
	s.Refusals = func() ([]link.Held, error) { return list, nil }
	serve := func(more string) link.Response {
		t.Helper()
		q, err := link.ReadRequest(fmt.Appendf(nil, `{"store":%q,"epoch":%q,"root":%q,"cursor":%d,"nonce":"n1","device":"d1","scope":"","brief":true,"changes":[]%s}`,
			at.Store, at.Epoch, at.Root, at.Cursor, more))
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Serve(context.Background(), q, "")
		if err != nil {
			t.Fatal(err)
		}
		back, err := link.ReadResponse(p.Bytes(), &q)
		if p.Same {
			return p
		}
		if err != nil {
			t.Fatal(err)
		}
		return back
	}
	if p := serve(`,"refused":""`); !p.Same {
		t.Errorf("%+v", p)
	}
	list = []link.Held{{ID: "c7", Reason: "the account was revoked"}}
	if p := serve(""); !p.Same {
		t.Errorf("to a program that shows none: %+v", p)
	}
	p := serve(`,"refused":""`)
	if p.Same || !p.News || len(p.Refusals) != 1 || p.Refusals[0] != list[0] || p.Refused == "" {
		t.Errorf("%+v", p)
	}
	if again := serve(`,"refused":"` + p.Refused + `"`); !again.Same {
		t.Errorf("%+v", again)
	}
	list = nil
	if p := serve(`,"refused":"` + p.Refused + `"`); !p.News || p.Refused != "" || len(p.Refusals) != 0 {
		t.Errorf("%+v", p)
	}
	q, err := link.ReadRequest([]byte(`{"nonce":"n1","device":"d1","changes":[],"has":["c1","c2"]}`))
	if err != nil {
		t.Fatal(err)
	}
	if p, err := s.Serve(context.Background(), q, ""); err != nil || len(p.Had) != 1 ||
		!strings.Contains(string(p.Bytes()), `"had":["c1"]`) {
		t.Errorf("%+v, %v", p, err)
	}
}

// TestWhatCannotBeJudgedStaysWithItsSender checks that an account or a device that could not be read
// refuses nothing: the sender hears an error, keeps its work and sends it again.
func TestWhatCannotBeJudgedStaysWithItsSender(t *testing.T) {
	s := side(t)
	broke := errors.New("the line to the database broke")
	s.Judge = func(_ store.View, c *change.Change) error {
		if c.Record == "r2" && broke != nil {
			return fmt.Errorf("who has the device: %w", store.CannotTell(broke))
		}
		return nil
	}
	q, err := link.ReadRequest(fmt.Appendf(nil, `{"store":"","cursor":0,"nonce":"n1","device":"d1","limit":10,"changes":[%s,%s]}`,
		text(made("c1", "r1", 0)), text(made("c2", "r2", 1))))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Serve(t.Context(), q, ""); !errors.Is(err, broke) {
		t.Errorf("the sender hears %v", err)
	}
	held, err := s.Store.Quarantined()
	last, lastErr := s.Store.Last()
	if len(held) != 0 || last != 0 || err != nil || lastErr != nil {
		t.Errorf("%d set aside, %d written, %v %v", len(held), last, err, lastErr)
	}
	broke = nil
	if r := exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)), text(made("c2", "r2", 1))); len(r.Acknowledged) != 2 {
		t.Errorf("sent again: %+v", r)
	}
}
