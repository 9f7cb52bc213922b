package api_test

import (
	"encoding/json"
	"fmt"
	"gaugewright/server/plant"
	"net/url"
	"testing"
)

func TestBulk(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	one := f.make("instrument", "", set("tag", "PI-1"), set("kind", "gauge"), set("area", "Mill"))
	values := fmt.Sprintf(`"instruments":[%q],"values":{"area":"Weir","interval_months":12}`, one.ID)
	var shown struct {
		Rows  []struct{ Fields []struct{ Field string } }
		Shown string
	}
	a := p.do("reviewer", "POST", "/api/office/bulk/preview", "{"+values+"}")
	if err := json.Unmarshal(a.body, &shown); a.status != 200 || err != nil {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	if len(shown.Rows) != 1 || len(shown.Rows[0].Fields) != 2 {
		t.Fatalf("%s", a.body)
	}
	if a := p.do("reviewer", "POST", "/api/office/bulk", "{"+values+`,"shown":"another"}`); a.status != 409 {
		t.Errorf("not as it was shown: %d %s", a.status, a.body)
	}
	var done struct{ ID string }
	a = p.do("reviewer", "POST", "/api/office/bulk", "{"+values+`,"shown":"`+shown.Shown+`"}`)
	if err := json.Unmarshal(a.body, &done); a.status != 200 || err != nil {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	var list struct {
		Changes []struct {
			ID, By, Undone string
			Count          int
		}
	}
	p.ask("reviewer", "/api/office/bulk", &list)
	if len(list.Changes) != 1 || list.Changes[0].ID != done.ID || list.Changes[0].Count != 1 ||
		list.Changes[0].By != "reviewer" {
		t.Errorf("%+v", list)
	}
	if done.ID != url.QueryEscape(done.ID) {
		t.Errorf("the id %s does not fit an address", done.ID)
	}
	undo := "/api/office/bulk/" + done.ID + "/undo"
	if a := p.do("technician", "POST", undo, ""); a.status != 403 {
		t.Errorf("a technician: %d", a.status)
	}
	if a := p.do("reviewer", "POST", undo, ""); a.status != 200 || string(a.body) != `{"kept":[],"undone":1}`+"\n" {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("reviewer", "POST", undo, ""); a.status != 409 {
		t.Errorf("a second time: %d %s", a.status, a.body)
	}
	if a := p.do("reviewer", "POST", "/api/office/bulk/x/undo", ""); a.status != 404 {
		t.Errorf("none: %d", a.status)
	}
}

// TestExchange checks that the tag goes to the other instrument and that visits stay with the one
// that was tested. An instrument that comes back has its own history again.
func TestExchange(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	first := f.make(
		"instrument", "", set("tag", "PI-1"), set("serial", "A-1"), set("kind", "gauge"), set("area", "Mill"),
		set("cautions", []string{"oxygen"}), set("status", "in service"), set("due", "2027-01-31"), set("resolution", "0.1"),
		set("range", doc{"low": "0", "high": "10", "unit": "bar", "mode": "gauge"}),
	)
	visit := f.make("visit", first.ID, set("instrument", first.ID), set("started", "2026-01-01T10:00:00.000Z"))
	exchange := func(id, body string) (string, int) {
		t.Helper()
		a := p.do("reviewer", "POST", "/api/office/instruments/"+id+"/exchange", body)
		var out struct{ ID string }
		_ = json.Unmarshal(a.body, &out)
		return out.ID, a.status
	}
	for body, want := range map[string]int{
		`{"serial":""}`: 400, `{"serial":"--"}`: 400, `{"serial":"a1"}`: 400,
	} {
		if _, status := exchange(first.ID, body); status != want {
			t.Errorf("%s: %d", body, status)
		}
	}
	if _, status := exchange("nobody", `{"serial":"B-2"}`); status != 404 {
		t.Error("an instrument that is not there:", status)
	}
	second, status := exchange(first.ID, `{"serial":"B-2","model":"M9"}`)
	if status != 200 || second == first.ID {
		t.Fatal(second, status)
	}
	load := func(id string) plant.Instrument {
		t.Helper()
		i, err := plant.LoadInstrument(p.store, id)
		if err != nil {
			t.Fatal(err)
		}
		return i
	}
	old, now := load(first.ID), load(second)
	if old.Tag != "PI-1 (A-1)" || old.Status != "out of service" || old.Serial != "A-1" {
		t.Errorf("%+v", old)
	}
	if now.Tag != "PI-1" || now.Serial != "B-2" || now.Model != "M9" || now.Area != "Mill" || now.Status != "in service" ||
		now.Range.High != "10" || len(now.Cautions) != 1 || now.Label == "" || now.Due != "2027-01-31" {
		t.Errorf("%+v", now)
	}
	of := func(id string) int {
		kids, err := p.store.Children(id)
		if err != nil {
			t.Fatal(err)
		}
		return len(kids)
	}
	if of(first.ID) != 1 || of(second) != 0 {
		t.Error("the visit", visit.ID, "did not stay with what it is of")
	}
	if back, status := exchange(second, `{"serial":"a 1"}`); status != 200 || back != first.ID {
		t.Error("the first one back:", back, status)
	}
	if old, now := load(second), load(first.ID); now.Tag != "PI-1" || now.Status != "in service" || old.Tag != "PI-1 (B-2)" || of(first.ID) != 1 {
		t.Errorf("%+v %+v", old, now)
	}
	if _, status := exchange(first.ID, `{"serial":"A-1"}`); status != 400 {
		t.Error("the one that hangs there:", status)
	}
}
