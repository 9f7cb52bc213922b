package api_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/store"
)

type heldReply struct {
	Store, Epoch, Root, Scope, Count string
	Cursor                           uint64
	Wanted, Left, Sites              []string
	Groups                           []struct {
		Unit, Given string
		States      []json.RawMessage
	}
	Entries   []json.RawMessage
	All, Next int
	More      bool
}

func (p *testPlant) held(who, body string) (r heldReply) {
	p.t.Helper()
	if a := p.do(who, "POST", "/api/hold", body); a.status != 200 || json.Unmarshal(a.body, &r) != nil {
		p.t.Fatalf("%s: %d %s", body, a.status, a.body)
	}
	return r
}

type partReply struct {
	Cursor  uint64
	Same    bool
	More    bool
	Root    string
	Changes []struct{ Record string }
	Part    *struct {
		Begin, Send bool
		Wanted      []string
		Entries     []struct{ ID string }
	}
}

func (p *testPlant) synced(who, request string) (r partReply, text string) {
	p.t.Helper()
	a := p.do(who, "POST", "/api/sync", request)
	if a.status != 200 || json.Unmarshal(a.body, &r) != nil {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return r, string(a.body)
}

// TestPhoneHoldsAPart plays a phone of a plant that is too large for it. The office tells it to
// begin, and it takes the base, the register and its units. From then on it gets their changes, and
// for other instruments what a search shows.
func TestPhoneHoldsAPart(t *testing.T) {
	p := newPlant(t)
	p.whole = 20
	p.handler = p.open()
	day := p.now.Format("2006-01-02")
	for n := range 30 {
		p.put(fmt.Sprintf("n%02d", n), "instrument", "", field{"tag", fmt.Sprintf("PI-%d", n)}, field{"label", fmt.Sprintf("lab%d", n)})
	}
	p.put("m1", "method", "", field{"name", "usual"})
	stops := []map[string]string{{"instrument": "n07"}, {"instrument": "n03"}}
	p.put("r0", "round", "", field{"date", day}, field{"person", id("technician")}, field{"stops", stops})
	ask := func(place, hold string) string {
		return `{"nonce":"n1","device":"d1","changes":[],"scope":"","brief":true` + place + `,"hold":` + hold + `}`
	}
	first, _ := p.synced("technician", ask(`,"store":"","cursor":0`, `{"name":""}`))
	if first.Part == nil || !first.Part.Begin || len(first.Changes) > 0 || first.More {
		t.Fatalf("%+v", first)
	}
	base := p.held("technician", `{"part":"base"}`)
	if !slices.Equal(base.Wanted, []string{"n07", "n03"}) || base.Cursor != 32 || base.Store != p.store.StoreID() {
		t.Errorf("%+v", base)
	}
	if got := string(base.Groups[0].States[0]) + string(base.Groups[0].States[1]); len(base.Groups[0].States) != 2 ||
		!strings.Contains(got, `"usual"`) || !strings.Contains(got, `"stops"`) {
		t.Error(got)
	}
	rounds := p.held("technician", `{"part":"base","rounds":true}`)
	if len(rounds.Groups[0].States) != 1 || !strings.Contains(string(rounds.Groups[0].States[0]), `"stops"`) || !rounds.More ||
		!slices.Equal(rounds.Wanted, base.Wanted) || rounds.Cursor != 32 || base.More {
		t.Errorf("%+v", rounds)
	}
	units := p.held("technician", `{"part":"units","units":["n07","lab3","nothing"]}`)
	if len(units.Groups) != 2 || units.Groups[1].Unit != "n03" || len(units.Left) > 0 || units.Count == "0" {
		t.Errorf("%+v", units)
	}
	for _, g := range append(units.Groups, base.Groups...) {
		var states [][]byte
		for _, s := range g.States {
			states = append(states, s)
		}
		key := p.store.HeadKey()
		if !store.Vouched(key, base.Store, base.Cursor, base.Root, states, g.Given) {
			t.Errorf("%s: its signature is not of these states", g.Unit)
		}
		states[0] = append(slices.Clone(states[0][:len(states[0])-1]), ' ', '}')
		if store.Vouched(key, base.Store, base.Cursor, base.Root, states, g.Given) {
			t.Errorf("%s: other states pass", g.Unit)
		}
	}
	if root, err := p.store.Root(base.Cursor); err != nil || root != base.Root {
		t.Errorf("the place has root %s, the tree %s, %v", base.Root, root, err)
	}
	if r := p.held("technician", `{"part":"register"}`); r.All != 30 || len(r.Entries) != 30 || r.Next != 0 {
		t.Errorf("%d of %d, next %d", len(r.Entries), r.All, r.Next)
	}

	place := fmt.Sprintf(`,"store":%q,"epoch":%q,"root":%q,"cursor":%d`, base.Store, base.Epoch, base.Root, base.Cursor)
	if r, _ := p.synced("technician", ask(place, `{"name":"h1"}`)); r.Part == nil || !r.Part.Send || r.Cursor != 32 {
		t.Fatalf("%+v", r)
	}
	r, _ := p.synced("technician", ask(place, `{"name":"h1","units":["n07"]}`))
	if r.Part == nil || r.Part.Send || !slices.Equal(r.Part.Wanted, []string{"n03"}) {
		t.Fatalf("%+v", r)
	}
	p.put("v1", "visit", "n07", field{"instrument", "n07"})
	p.put("v2", "visit", "n20", field{"instrument", "n20"})
	p.put("n30", "instrument", "", field{"tag", "PI-30"})
	if r, _ = p.synced("technician", ask(place, `{"name":"h1"}`)); r.Cursor != 35 || len(r.Changes) != 1 || r.Changes[0].Record != "v1" ||
		len(r.Part.Entries) != 1 || r.Part.Entries[0].ID != "n30" {
		t.Errorf("%+v", r)
	}
	// Another list replaces the first one, the server's memory of it ends with the server, and
	// without news there is nothing in the reply.
	now := fmt.Sprintf(`,"store":%q,"epoch":%q,"root":%q,"cursor":%d`, base.Store, base.Epoch, r.Root, r.Cursor)
	p.synced("technician", ask(now, `{"name":"h2","units":["n07","n03"]}`))
	if r, _ := p.synced("technician", ask(now, `{"name":"h1"}`)); !r.Part.Send {
		t.Errorf("%+v", r)
	}
	if _, text := p.synced("technician", ask(now, `{"name":"h2"}`)); text != `{"same":true,"nonce":"n1"}` {
		t.Error(text)
	}
	p.handler = p.open()
	if r, _ := p.synced("technician", ask(now, `{"name":"h2"}`)); !r.Part.Send {
		t.Errorf("%+v", r)
	}

	// A program that does not know parts receives the whole plant.
	if whole := p.pulled("technician"); len(whole) < 34 {
		t.Error(whole)
	}
}

// TestPartsAreOfOnesSites checks that with other sites a phone starts afresh and receives nothing
// of theirs.
func TestPartsAreOfOnesSites(t *testing.T) {
	p := newPlant(t)
	p.whole = 1
	p.handler = p.open()
	p.put("n1", "instrument", "", field{"tag", "PI-1"})
	p.put("n2", "instrument", "", field{"tag", "PI-2"})
	p.put("s1", "site", "", field{"code", "S1"})
	if a := p.do("administrator", "PUT", "/api/users/"+id("technician")+"/sites", `{"sites":["s1"]}`); a.status >= 300 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	base := p.held("technician", `{"part":"base"}`)
	if base.Scope == "" || !slices.Equal(base.Sites, []string{"s1"}) {
		t.Errorf("%+v", base)
	}
	request := fmt.Sprintf(
		`{"nonce":"n1","device":"d1","changes":[],"scope":"","store":%q,"epoch":%q,"cursor":3,"hold":{"name":"h","units":[]}}`,
		base.Store, base.Epoch,
	)
	if r, _ := p.synced("technician", request); r.Part == nil || !r.Part.Begin || len(r.Changes) > 0 {
		t.Errorf("%+v", r)
	}
	for _, bad := range []string{`{"part":"all"}`, `{}`, `{"part":"units","units":"x"}`} {
		if a := p.do("technician", "POST", "/api/hold", bad); a.status != 400 {
			t.Errorf("%s: %d %s", bad, a.status, a.body)
		}
	}
}
