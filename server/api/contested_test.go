package api_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
)

// client is a device that keeps records, drafts changes offline and exchanges with the real server.
type client struct {
	*testPlant
	who     string
	drafter plant.Drafter
	states  map[string]merge.State
	unsent  []change.Change
	place   link.Request
	last    link.Response
}

func (p *testPlant) client(who, device string, seed byte) *client {
	return &client{testPlant: p, who: who, states: map[string]merge.State{}, place: link.Request{Device: device},
		drafter: plant.Drafter{Device: device, Author: id(who), Random: rand.NewChaCha8([32]byte{seed})}}
}

func (c *client) kept(one change.Change, s merge.State, err error) merge.State {
	c.t.Helper()
	if err != nil {
		c.t.Fatal(err)
	}
	c.states[s.ID], c.unsent = s, append(c.unsent, one)
	return s
}

func (c *client) edit(record string, sets ...plant.Set) {
	c.t.Helper()
	c.kept(c.drafter.Edit(c.states[record], c.now, sets...))
}

// sync exchanges until neither side has anything new and returns how many changes came.
func (c *client) sync() (came int) {
	c.t.Helper()
	for {
		q := c.place
		q.Nonce, q.Limit = "n1", 500
		for i := range c.unsent {
			q.Changes = append(q.Changes, link.Sent{Bytes: c.unsent[i].Bytes()})
		}
		a := c.do(c.who, "POST", "/api/sync", string(q.Bytes()))
		p, err := link.ReadResponse(a.body, &q)
		if a.status != 200 || err != nil || len(p.Acknowledged) != len(c.unsent) {
			c.t.Fatalf("%s: %d %s, %v", c.who, a.status, a.body, err)
		}
		for _, one := range p.Changes {
			next, err := merge.Apply(c.states[one.Record], one)
			if err != nil {
				c.t.Fatal(err)
			}
			c.states[one.Record], c.drafter.Count = next, max(c.drafter.Count, one.Stamp.Count)
		}
		came += len(p.Changes)
		c.unsent, c.last = nil, p
		c.place.Store, c.place.Epoch, c.place.Root, c.place.Cursor = p.Store, p.Epoch, p.Root, p.Cursor
		if !p.More {
			return came
		}
	}
}

func (c *client) field(record, name string) *merge.Field {
	c.t.Helper()
	s := c.states[record]
	f, ok := s.Field(name)
	if !ok {
		c.t.Fatalf("%s has no %s", record, name)
	}
	return f
}

type contestedReply struct {
	Kind, Title string
	Fields      []struct {
		Field  string
		May    bool
		Values []struct {
			Change, Author, Device, Wall string
			Value                        any
			Shown                        string
			Seen                         []struct {
				Value any
				Shown string
			}
		}
	}
}

func (p *testPlant) ask(who, path string, into any) {
	p.t.Helper()
	if a := p.do(who, "GET", path, ""); a.status != 200 || json.Unmarshal(a.body, into) != nil {
		p.t.Fatalf("%s as %s: %d %s", path, who, a.status, a.body)
	}
}

func (p *testPlant) contestedIDs() (ids []string) {
	p.t.Helper()
	var r struct{ Records []struct{ ID string } }
	p.ask("reviewer", "/api/office/contested", &r)
	for _, one := range r.Records {
		ids = append(ids, one.ID)
	}
	return ids
}

// TestContestedIsChosen checks that what two devices wrote independently is kept as two values on
// both and at the office, with what each had seen. Two different choices made independently give
// the same state everywhere, and one more choice settles it.
func TestContestedIsChosen(t *testing.T) {
	p := newPlant(t)
	a, b := p.client("technician", "d1a", 1), p.client("reviewer", "d1b", 2)
	b.edit(
		b.kept(b.drafter.New("instrument", "", "", p.now, set("tag", "PI-9"), set("note", "first"))).ID,
		set("place", "north"),
	)
	record := ""
	for id := range b.states {
		record = id
	}
	b.sync()
	a.sync()
	a.edit(record, set("note", "from a"))
	b.edit(record, set("note", "from b"))
	a.sync()
	b.sync()
	a.sync()
	for _, c := range []*client{a, b} {
		if f := c.field(record, "note"); !f.Contested() || len(f.Heads) != 2 {
			t.Errorf("%s has %d values", c.who, len(f.Heads))
		}
	}
	if ids := p.contestedIDs(); len(ids) != 1 || ids[0] != record {
		t.Errorf("the office lists %v", ids)
	}
	var shown contestedReply
	p.ask("reviewer", "/api/office/contested/"+record, &shown)
	if shown.Title != "PI-9" || shown.Kind != "instrument" || len(shown.Fields) != 1 ||
		shown.Fields[0].Field != "note" || !shown.Fields[0].May || len(shown.Fields[0].Values) != 2 {
		t.Fatalf("%+v", shown)
	}
	for _, v := range shown.Fields[0].Values {
		want := map[string]string{"d1a": "from a technician", "d1b": "from b reviewer"}[v.Device]
		if fmt.Sprint(v.Value, " ", v.Author) != want || len(v.Seen) != 1 || v.Seen[0].Value != "first" ||
			v.Wall == "" {
			t.Errorf("%+v", v)
		}
	}

	// Each settles it alone, offline, and differently.
	a.edit(record, set("note", "from a"))
	b.edit(record, set("note", "from b"))
	for _, c := range []*client{a, b} {
		if c.field(record, "note").Contested() {
			t.Errorf("%s chose and it is still open", c.who)
		}
	}
	a.sync()
	b.sync()
	a.sync()
	office, _, err := p.store.Record(record)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []*client{a, b} {
		s := c.states[record]
		if f := c.field(record, "note"); len(f.Heads) != 2 || !f.Contested() ||
			string(s.Bytes()) != string(office.Bytes()) {
			t.Errorf("%s: %s, the office has %s", c.who, s.Bytes(), office.Bytes())
		}
	}
	if n := a.sync() + b.sync(); n != 0 {
		t.Errorf("%d more changes: nobody chose again", n)
	}

	p.ask("reviewer", "/api/office/contested/"+record, &shown)
	var heads []string
	for _, v := range shown.Fields[0].Values {
		heads = append(heads, v.Change)
	}
	choice := func(field string, heads []string, choose string) string {
		return js(doc{"field": field, "heads": heads, "choose": choose})
	}
	path := "/api/office/contested/" + record
	for _, tt := range []struct {
		who, body string
		want      int
	}{
		{"", choice("note", heads, heads[0]), 401},
		{"technician", choice("note", heads, heads[0]), 403},
		{"reviewer", choice("note", heads[:1], heads[0]), 409},
		{"reviewer", choice("note", heads, "other"), 400},
		{"reviewer", choice("place", heads, heads[0]), 409},
		{"reviewer", choice("none", heads, heads[0]), 409},
		{"reviewer", choice("note", heads, heads[1]), 204},
		{"reviewer", choice("note", heads, heads[1]), 409},
	} {
		if r := p.do(tt.who, "POST", path, tt.body); r.status != tt.want {
			t.Errorf("%s as %q: %d, want %d: %s", tt.body, tt.who, r.status, tt.want, r.body)
		}
	}
	chosen := shown.Fields[0].Values[1].Value
	for _, c := range []*client{a, b} {
		c.sync()
		f := c.field(record, "note")
		if len(f.Heads) != 1 || string(f.Heads[0].Value) != js(chosen) {
			t.Errorf("%s: %+v, chosen was %v", c.who, f.Heads, chosen)
		}
	}
	if ids := p.contestedIDs(); len(ids) != 0 {
		t.Errorf("still listed: %v", ids)
	}
}

// TestContestedRoundIsInWords: the stops and the person of a round are ids, between which people
// cannot choose, so they are shown as tags and names.
func TestContestedRoundIsInWords(t *testing.T) {
	p := newPlant(t)
	a, b := p.client("administrator", "d1a", 4), p.client("reviewer", "d1b", 2)
	one := a.kept(a.drafter.New("instrument", "", "", p.now, set("tag", "PI-1"))).ID
	two := a.kept(a.drafter.New("instrument", "", "", p.now, set("tag", "PI-2"))).ID
	bare := a.kept(a.drafter.New("instrument", "", "", p.now, set("note", "no tag"))).ID
	method := p.phone().make("method", "", set("name", "Five points")).ID
	stop := func(instrument, method string) doc { return doc{"instrument": instrument, "method": method} }
	round := a.kept(
		a.drafter.New(
			"round", "", "", p.now, set("date", "2026-03-09"), set("person", id("technician")),
			set("title", "Yard"), set("stops", []doc{stop(one, "")}),
		),
	).ID
	a.sync()
	b.sync()
	a.edit(
		round, set("stops", []doc{stop(two, method), stop(one, "")}), set("person", id("reviewer")),
		set("title", "North"),
	)
	b.edit(round, set("stops", []doc{stop(bare, "")}), set("person", id("administrator")), set("title", "South"))
	a.sync()
	b.sync()
	var shown contestedReply
	p.ask("reviewer", "/api/office/contested/"+round, &shown)
	want := map[string]map[string][2]string{
		"person": {"d1a": {"reviewer", "technician"}, "d1b": {"administrator", "technician"}},
		"stops":  {"d1a": {"PI-2 (Five points), PI-1", "PI-1"}, "d1b": {bare, "PI-1"}},
		"title":  {"d1a": {"", ""}, "d1b": {"", ""}},
	}
	if len(shown.Fields) != len(want) {
		t.Fatalf("%+v", shown)
	}
	for _, f := range shown.Fields {
		for _, v := range f.Values {
			if len(v.Seen) != 1 || [2]string{v.Shown, v.Seen[0].Shown} != want[f.Field][v.Device] || v.Value == nil {
				t.Errorf("%s of %s: %+v, want %q", f.Field, v.Device, v, want[f.Field][v.Device])
			}
		}
	}
}

// TestContestedListFollowsAndStays checks that the list is the same after a restart, and that for a
// large journal it has only what is contested now.
func TestContestedListFollowsAndStays(t *testing.T) {
	p := newPlant(t)
	a, b := p.client("reviewer", "d1a", 1), p.client("administrator", "d1b", 2)
	var records []string
	for n := range 5 {
		records = append(records, a.kept(
			a.drafter.New(
				"standard", "", "", p.now, set("name", fmt.Sprintf("standard %d", n)), set("status", "in service"),
			),
		).ID)
	}
	site := b.kept(b.drafter.New("site", "", "", p.now, set("code", "W1"))).ID
	for _, c := range []*client{a, b, a} {
		c.sync()
	}
	for n, id := range records[:3] {
		a.edit(id, set("status", fmt.Sprintf("a%d", n)))
		b.edit(id, set("status", fmt.Sprintf("b%d", n)))
	}
	b.edit(records[3], set("status", "the same"))
	a.edit(records[3], set("status", "the same"))
	b.edit(site, set("code", "W2"))
	other := p.client("administrator", "d1c", 3)
	other.sync()
	other.edit(site, set("code", "W3"))
	for _, c := range []*client{a, b, other} {
		c.sync()
	}
	if ids := p.contestedIDs(); len(ids) != 4 {
		t.Errorf("%v", ids)
	}
	var shown contestedReply
	p.ask("reviewer", "/api/office/contested/"+site, &shown)
	if len(shown.Fields) != 1 || shown.Fields[0].May {
		t.Errorf("a reviewer may choose the code of a site: %+v", shown)
	}
	p.handler = p.open()
	a.sync()
	a.edit(records[0], set("status", "settled"))
	a.sync()
	if ids := p.contestedIDs(); len(ids) != 3 || strings.Contains(fmt.Sprint(ids), records[0]) {
		t.Errorf("after a restart %v", ids)
	}
	p.handler = p.open()
	if ids := p.contestedIDs(); len(ids) != 3 {
		t.Errorf("after another restart %v", ids)
	}
}

// TestChangesThatClaimToHaveSeenEachOther checks that they leave a field without a value and break
// nothing.
func TestChangesThatClaimToHaveSeenEachOther(t *testing.T) {
	p := newPlant(t)
	who := id("technician")
	one, two := made("c1", who, "visit", "f"), made("c2", who, "visit", "f")
	one.Record, two.Record = "r1", "r1"
	one.Set[0].Sees, two.Set[0].Sees = []string{"c2"}, []string{"c1"}
	if a := p.do("technician", "POST", "/api/sync", push(one, two)); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if ids := p.contestedIDs(); len(ids) != 0 {
		t.Errorf("%v", ids)
	}
}
