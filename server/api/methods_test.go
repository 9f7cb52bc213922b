package api_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/server/plant"
)

// drafted pushes a user's draft of a method, a new one if record is "".
func (c *client) drafted(record, name, why string, from int, definition any) string {
	draft := set("draft."+c.drafter.Author, doc{
		"name": name, "definition": definition, "cautions": []string{"vent"}, "why": why, "from": from,
	})
	if record == "" {
		record = c.kept(c.drafter.New("method", "", "", c.now, draft)).ID
	} else {
		c.edit(record, draft)
	}
	c.sync()
	return record
}

func (p *testPlant) methodPage(who, method string) (m office.MethodPage) {
	p.ask(who, "/api/office/methods/"+method, &m)
	return m
}

// putInForce asks to put the only draft of a method into force as it is.
func (p *testPlant) putInForce(who, method, more string) answer {
	m := p.methodPage(who, method)
	if len(m.Waiting) != 1 {
		p.t.Fatalf("%+v", m.Waiting)
	}
	w := m.Waiting[0]
	b, err := json.Marshal(office.MethodApproval{Draft: w.User, Change: w.Change, Version: m.Version, Note: "read", Alone: more == "alone"})
	if err != nil {
		p.t.Fatal(err)
	}
	return p.do(who, "POST", "/api/office/methods/"+method+"/approve", string(b))
}

// TestAMethodNeedsASecondPerson checks that a changed method takes effect only after another person
// of the office has approved what was shown to them, and that the version before applies until
// then. Who wrote it, who approved it and why stays on record, with the differences member by
// member.
func TestAMethodNeedsASecondPerson(t *testing.T) {
	p := newPlant(t)
	writer := p.client("reviewer", "d1b", 2)
	points := func(n, hold int) doc {
		return doc{"kind": "gauge", "points": doc{"count": n}, "directions": "up", "cycles": 1, "hold_s": hold}
	}
	method := writer.drafted("", "Five points", "", 0, points(5, 0))
	inForce := func() plant.Method {
		t.Helper()
		s, _, err := p.store.Record(method)
		if err != nil {
			t.Fatal(err)
		}
		m, err := plant.ReadMethod(s)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	if m := inForce(); m.Version != 0 || m.Definition != nil {
		t.Fatalf("a draft is in force: %+v", m)
	}
	if m := p.methodPage("reviewer", method); m.Alone || !m.Waiting[0].Own || m.Name != "Five points" || m.Kind != "gauge" {
		t.Errorf("%+v", m)
	}
	if a := p.putInForce("reviewer", method, "alone"); a.status != 409 || !strings.Contains(string(a.body), `"own"`) {
		t.Errorf("one's own: %d %s", a.status, a.body)
	}
	p.refused("role", 403, "technician", "/api/office/methods/"+method+"/approve", "{}")
	if a := p.putInForce("administrator", method, ""); a.status != 200 || string(a.body) != "{\"version\":1}\n" {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if m := inForce(); m.Version != 1 || m.Name != "Five points" || len(m.Drafts) != 0 ||
		m.Approvals[1].By != id("reviewer") || m.Approvals[1].Author != id("administrator") || m.Approvals[1].Alone {
		t.Errorf("%+v", m)
	}

	// An instrument that the next version does not fit: its points are above the range.
	f := p.phone()
	gauge := f.make("instrument", "", set("tag", "PI-7"), set("status", "in service"), set("method", method),
		set("kind", "gauge"), set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}),
		set("limit", doc{"rule": "terms", "of_span_percent": "1"}))
	next := points(5, 30)
	next["points"] = doc{"values": []string{"0", "5", "16"}}
	writer.sync()
	writer.drafted(method, "Three points", "the upper end wears", 1, next)
	m := p.methodPage("administrator", method)
	w := m.Waiting[0]
	want := []string{
		`name "Five points" "Three points"`, "hold_s 0 30", "points.count 5 null", `points.values null ["0","5","16"]`,
	}
	if got := fieldLines(w.Fields); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	if w.Used != 1 || w.Refused != 1 || w.Refusals[0].ID != gauge.ID || w.Why != "the upper end wears" || w.By == "" {
		t.Errorf("%+v", w)
	}
	if got := inForce(); got.Version != 1 || strings.Contains(string(got.Definition), "16") {
		t.Errorf("the draft serves already: %+v", got)
	}
	// What was shown counts: the author changes the draft again meanwhile.
	stale, err := json.Marshal(office.MethodApproval{Draft: w.User, Change: w.Change, Version: m.Version})
	if err != nil {
		t.Fatal(err)
	}
	next["points"] = doc{"values": []string{"0", "5", "10"}}
	writer.drafted(method, "Three points", "the upper end wears", 1, next)
	p.refused("changed", 409, "administrator", "/api/office/methods/"+method+"/approve", string(stale))
	if a := p.putInForce("administrator", method, ""); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	m = p.methodPage("reviewer", method)
	if len(m.Versions) != 2 || m.Version != 2 || len(m.Waiting) != 0 {
		t.Fatalf("%+v", m)
	}
	if v := m.Versions[0]; v.Version != 2 || v.Why != "the upper end wears" || v.Note != "read" || v.By == "" || v.Approved == "" ||
		v.By == v.Approved || !slices.Contains(fieldLines(v.Fields), `points.values null ["0","5","10"]`) {
		t.Errorf("%+v", v)
	}

	// A method that fits no instrument is not put into force, and the field is named.
	writer.sync()
	writer.drafted(method, "Three points", "why", 2, doc{"kind": "gauge", "points": doc{"count": -3}})
	if a := p.putInForce("administrator", method, ""); a.status != 400 || !strings.Contains(string(a.body), `"field":"definition.points`) {
		t.Errorf("%d %s", a.status, a.body)
	}
}

// TestAloneInTheOffice checks that an administrator without a colleague can put a method into force
// alone by saying so, and that the version keeps that.
func TestAloneInTheOffice(t *testing.T) {
	p := newPlant(t)
	writer := p.client("administrator", "d1a", 1)
	method := writer.drafted("", "Five points", "", 0, doc{"kind": "gauge", "points": doc{"count": 5}})
	if a := p.putInForce("administrator", method, "alone"); a.status != 409 {
		t.Errorf("beside a reviewer: %d %s", a.status, a.body)
	}
	users, err := p.keeper.Users()
	if err != nil {
		t.Fatal(err)
	}
	for _, u := range users {
		if u.Role == auth.Reviewer {
			if err := p.keeper.Revoke(u.ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	if m := p.methodPage("administrator", method); !m.Alone {
		t.Error("the page does not say that there is nobody else")
	}
	if a := p.putInForce("administrator", method, ""); a.status != 409 {
		t.Errorf("without saying so: %d %s", a.status, a.body)
	}
	if a := p.putInForce("administrator", method, "alone"); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if m := p.methodPage("administrator", method); !m.Versions[0].Alone {
		t.Errorf("%+v", m.Versions[0])
	}
}

// TestAHubBringsApprovedMethodsOnly checks that a version pushed by a hub needs the approval of a
// person other than its author.
func TestAHubBringsApprovedMethodsOnly(t *testing.T) {
	p := newPlant(t)
	if _, err := p.keeper.Add("hvb", "hub", auth.Hub, secret); err != nil {
		t.Fatal(err)
	}
	p.logIn("hub")
	hub := p.client("reviewer", "d1h", 3)
	version := func(by string) []plant.Set {
		return []plant.Set{
			set("name", "M"), set("kind", "gauge"), set("definition", doc{"kind": "gauge"}), set("version", 1),
			set("approval.1", doc{"by": by, "of": "x"}),
		}
	}
	for _, tt := range []struct {
		name  string
		set   []plant.Set
		taken int
	}{
		{"no approval", version(id("technician"))[:4], 0},
		{"of another version", append(version("")[:4], set("approval.2", doc{"by": "x", "of": "x"})), 0},
		{"the writer's own", version(id("reviewer")), 0},
		{"another person's", version(id("technician")), 1},
	} {
		one, _, err := hub.drafter.New("method", "", "", p.now, tt.set...)
		if err != nil {
			t.Fatal(err)
		}
		if took, _, why := p.brought("hub", one); took != tt.taken {
			t.Errorf("%s: %d taken, %v", tt.name, took, why)
		}
	}
}

// fieldLines writes the differences as lines.
func fieldLines(list []office.Differing) (lines []string) {
	for _, d := range list {
		if d.Field != "cautions" {
			lines = append(lines, d.Field+" "+string(d.Before)+" "+string(d.After))
		}
	}
	return lines
}
