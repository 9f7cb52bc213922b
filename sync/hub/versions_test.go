package hub_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/hub"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// altered is a line to an office of another version: its replies are rewritten.
type altered struct {
	*line
	reply *strings.Replacer
}

func (a altered) Exchange(ctx context.Context, body []byte) ([]byte, error) {
	b, err := a.line.Exchange(ctx, body)
	return []byte(a.reply.Replace(string(b))), err
}

// TestNewerOfficeDoesNotStopAHub: a change in a form that the hub cannot read passes through
// unaltered to phones that can read it, and the hub takes it in after an update.
func TestNewerOfficeDoesNotStopAHub(t *testing.T) {
	above, here := open(t), open(t)
	add(t, above, made("a1", "r1", 1), made("a2", "r2", 2), made("a3", "r3", 3))
	l := office(above)
	future := altered{l, strings.NewReplacer(`{"v":1,"id":"a2"`, `{"v":2,"because":"of the future","id":"a2"`)}
	h := hub.New(here, future, nil)
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if last, held := size(t, here), held(t, here); last != 2 || held != 0 {
		t.Fatalf("%d entries, %d held", last, held)
	}
	down := office(here).side
	down.Passes = anybody
	for _, phone := range []struct {
		name  string
		reads int
		after uint64
		want  int
	}{{"of now", 1, 0, 0}, {"that does not say", 0, 0, 0}, {"of the future", 2, 0, 1}, {"of the future, again", 2, 1, 0}} {
		p := serve(
			t, &down,
			link.Request{
				Nonce: "n", Device: "d9", Limit: 10, Protocol: link.Protocol, Reads: phone.reads, Passing: phone.after,
			},
		)
		if len(p.Passing) != phone.want || len(p.Passing) == 1 &&
			!strings.Contains(string(p.Passing[0].Bytes), `"of the future"`) {
			t.Errorf("a phone %s is given %+v", phone.name, p.Passing)
		}
	}
	if l.pushed != 0 {
		t.Errorf("%d sent back to where they came from", l.pushed)
	}
	// The change is readable now, as after an update.
	c := made("a4", "r4", 4)
	if err := here.Pass(store.Passing{ID: "a4", Above: true, Bytes: c.Bytes()}); err != nil {
		t.Fatal(err)
	}
	if err := hub.New(here, l, nil).Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if _, there, err := here.Change("a4"); err != nil || !there {
		t.Errorf("taken in later: %v, %v", there, err)
	}
	if left, err := here.PassingAfter(0, 10, 1<<20); err != nil || len(left) != 1 || left[0].ID != "a2" {
		t.Errorf("still passing: %+v, %v", left, err)
	}
	if _, there, err := above.Change("a4"); err != nil || there {
		t.Errorf("what came from the office was sent back: %v, %v", there, err)
	}
}

func held(t *testing.T, s *store.Store) int {
	t.Helper()
	list, err := s.Quarantined()
	if err != nil {
		t.Fatal(err)
	}
	return len(list)
}

// serve is an exchange over the bytes of its request and reply.
func serve(t *testing.T, side *link.Side, q link.Request) link.Response {
	t.Helper()
	read, err := link.ReadRequest(q.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	p, err := side.Serve(context.Background(), read, "2026-03-04T05:06:08Z")
	if err != nil {
		t.Fatal(err)
	}
	if p, err = link.ReadResponse(p.Bytes(), &read); err != nil {
		t.Fatal(err)
	}
	return p
}

// TestNewerPhonePassesThroughHubs: the changes of a phone of a later version pass through today's
// hubs as bytes to an office that can read them. An office that cannot is offered them again.
func TestNewerPhonePassesThroughHubs(t *testing.T) {
	above, middle, here := open(t), open(t), open(t)
	newer := link.Sent{Bytes: []byte(`{"v":2,"id":"n1","author":"an","because":"of the future"}`)}
	atHub, atMiddle, atOffice := office(here), office(middle), office(above)
	atHub.side.Passes, atMiddle.side.Passes = anybody, anybody
	for range 2 { // the reply was lost once
		p := serve(
			t, &atHub.side,
			link.Request{Nonce: "n", Device: "d9", Limit: 10, Protocol: link.Protocol, Changes: []link.Sent{newer}},
		)
		if len(p.Acknowledged) != 1 || len(p.Newer)+len(p.Quarantined) != 0 {
			t.Fatalf("the hub: %+v", p)
		}
	}
	low, high := hub.New(here, atMiddle, nil), hub.New(middle, atOffice, nil)
	sync := func(h *hub.Hub) {
		t.Helper()
		if err := h.Sync(context.Background()); err != nil {
			t.Fatal(err)
		}
	}
	if q := queue(t, low); q.Waiting != 1 {
		t.Errorf("waiting: %+v", q)
	}
	sync(low)
	if q := queue(t, low); q.Waiting != 0 {
		t.Errorf("waiting: %+v", q)
	}
	sync(high)
	// Today's office cannot read it: the hub keeps it and names its author.
	list, err := high.Refused()
	if err != nil || len(list) != 1 || list[0].Change.Author != "an" ||
		!strings.Contains(list[0].Reason, "newer program") {
		t.Fatalf("%+v, %v", list, err)
	}
	if size(t, above)+size(t, middle)+size(t, here) != 0 {
		t.Error("somebody put into the journal what nobody can read")
	}
	// An office of a later version, which passes on everything that it is sent.
	future := office(above)
	future.side.Passes = anybody
	future.side.Store = open(t)
	later := hub.New(middle, future, nil)
	if err := later.Offer(); err != nil {
		t.Fatal(err)
	}
	sync(later)
	if got, there, err := future.side.Store.PassingAs("n1"); err != nil || !there ||
		string(got.Bytes) != string(newer.Bytes) {
		t.Errorf("%+v, %v, %v", got, there, err)
	}
	if list, err := later.Refused(); err != nil || len(list) != 0 {
		t.Errorf("%+v, %v", list, err)
	}
	// A phone that speaks protocol 1 gets nothing that it does not know.
	if p := serve(t, &atHub.side, link.Request{Nonce: "n", Device: "d9", Limit: 10, Protocol: 1, Changes: []link.Sent{newer}}); len(p.Quarantined) != 1 {
		t.Errorf("protocol 1: %+v", p)
	}
}

// TestHubsInALoopComeToAnEnd: two hubs that forward to each other by mistake end with the same
// journal and then send nothing, also if one speaks the earlier protocol.
func TestHubsInALoopComeToAnEnd(t *testing.T) {
	for _, speaks := range []int{link.Oldest, link.Protocol} {
		a, b := open(t), open(t)
		add(t, a, made("a1", "r1", 1), made("a2", "r2", 2))
		add(t, b, made("b1", "r1", 1), made("b2", "r3", 2))
		toA, toB := office(a), office(b)
		ha, hb := hub.New(a, speaking{toB, speaks}, nil), hub.New(b, toA, nil)
		for range 4 {
			for _, h := range []*hub.Hub{ha, hb} {
				if err := h.Sync(context.Background()); err != nil {
					t.Fatal(err)
				}
			}
		}
		if size(t, a) != 4 || size(t, b) != 4 {
			t.Errorf("protocol %d: %d and %d changes", speaks, size(t, a), size(t, b))
		}
		pushed := toA.pushed + toB.pushed
		if pushed > 8 {
			t.Errorf("protocol %d: %d changes were pushed, there are 4", speaks, pushed)
		}
		for _, h := range []*hub.Hub{ha, hb} {
			if err := h.Sync(context.Background()); err != nil {
				t.Fatal(err)
			}
		}
		if now := toA.pushed + toB.pushed; now != pushed {
			t.Errorf("protocol %d: %d more pushed at rest", speaks, now-pushed)
		}
	}
}

// speaking is a line on which a hub speaks another protocol than its own.
type speaking struct {
	*line
	protocol int
}

func (s speaking) Exchange(ctx context.Context, body []byte) ([]byte, error) {
	q, err := link.ReadRequest(body)
	if err != nil {
		return nil, err
	}
	q.Protocol, q.Reads = s.protocol, 0
	return s.line.Exchange(ctx, q.Bytes())
}

// older is a line to an office that cannot read one of the changes.
type older struct {
	*line
	id string
}

func (o older) Exchange(ctx context.Context, body []byte) ([]byte, error) {
	q, err := link.ReadRequest(body)
	if err != nil {
		return nil, err
	}
	q.Changes = slices.DeleteFunc(q.Changes, func(one link.Sent) bool { return one.ID == o.id })
	b, err := o.line.Exchange(ctx, q.Bytes())
	return []byte(strings.Replace(string(b), `"acknowledged"`, `"newer":["`+o.id+`"],"acknowledged"`, 1)), err
}

// TestAnOlderOfficeKeepsNothing: the hub keeps, reports and offers again what the office above
// cannot read yet.
func TestAnOlderOfficeKeepsNothing(t *testing.T) {
	above, here := open(t), open(t)
	add(t, here, made("h1", "r1", 1), made("h2", "r2", 2))
	l := office(above)
	h := hub.New(here, older{l, "h2"}, nil)
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	list, err := h.Refused()
	if err != nil || len(list) != 1 || list[0].Change.ID != "h2" || !strings.Contains(list[0].Reason, "newer program") {
		t.Fatalf("%+v, %v", list, err)
	}
	h = hub.New(here, l, nil)
	if err := h.Offer(); err != nil {
		t.Fatal(err)
	}
	if err := h.Sync(context.Background()); err != nil {
		t.Fatal(err)
	}
	if list, err := h.Refused(); err != nil || len(list) != 0 {
		t.Errorf("%+v, %v", list, err)
	}
}

// anybody lets a hub pass on everybody's changes.
func anybody(string, string) bool { return true }

// TestWhatCannotBePassedDownIsHeld: a change among those of newer programs is held with the reason
// if it can be read here and does not fit, or if it has other bytes under a known id.
func TestWhatCannotBePassedDownIsHeld(t *testing.T) {
	above, here := open(t), open(t)
	add(t, here, made("a1", "r1", 1))
	forged, kept := made("a1", "r1", 1), `{"v":2,"id":"n1","because":"it came first"}`
	forged.Author = "em"
	if err := here.Pass(store.Passing{ID: "n1", From: "an", Bytes: []byte(kept)}); err != nil {
		t.Fatal(err)
	}
	l := office(above)
	reply := strings.NewReplacer(`"changes":[`, `"passing":[`+string(forged.Bytes())+
		`,{"v":2,"id":"n1","because":"it came later"}],"passed":2,"changes":[`)
	h := hub.New(here, altered{l, reply}, nil)
	if _, err := h.Once(context.Background()); err != nil {
		t.Fatal(err)
	}
	list, err := here.Quarantined()
	if err != nil || len(list) != 2 {
		t.Fatalf("%+v, %v", list, err)
	}
	for _, one := range list {
		if !strings.HasPrefix(one.Reason, "from the office: ") {
			t.Errorf("%q", one.Reason)
		}
	}
	if got, _, err := here.PassingAs("n1"); err != nil || string(got.Bytes) != kept {
		t.Errorf("%s, %v", got.Bytes, err)
	}
}
