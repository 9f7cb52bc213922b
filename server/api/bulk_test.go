package api_test

import (
	"encoding/json"
	"fmt"
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
		t.Errorf("the id %s cannot stand in an address", done.ID)
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
