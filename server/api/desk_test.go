package api_test

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"

	"gaugewright/server/plant"

	"github.com/xuri/excelize/v2"
)

// TestWhoMayUseTheDesk checks that technicians cannot use it, and only administrators set
// competences.
func TestWhoMayUseTheDesk(t *testing.T) {
	p := newPlant(t)
	for _, path := range []string{
		"/api/office/standards", "/api/office/lookbacks", "/api/office/state", "/api/office/competences",
		"/api/office/queue", "/api/office/table.xlsx", "/api/office/reports/state.pdf",
	} {
		if a := p.do("technician", "GET", path, ""); a.status != 403 {
			t.Errorf("%s: %d for a technician", path, a.status)
		}
		if a := p.do("reviewer", "GET", path, ""); a.status != 200 {
			t.Errorf("%s: %d %s", path, a.status, a.body)
		}
	}
	var list struct{ People []struct{ ID string } }
	if err := json.Unmarshal(p.do("reviewer", "GET", "/api/office/competences", "").body, &list); err != nil || len(list.People) == 0 {
		t.Fatal(err)
	}
	path := "/api/users/" + list.People[0].ID + "/competences"
	body := `{"id":"","kind":"gauge","may":["do"],"from":"2026-01-01","until":"","evidence":"test piece 12","state":""}`
	for who, want := range map[string]int{"technician": 403, "reviewer": 403, "administrator": 204} {
		if a := p.do(who, "POST", path, body); a.status != want {
			t.Errorf("%s: %d %s", who, a.status, a.body)
		}
	}
	if a := p.do("administrator", "POST", path, strings.Replace(body, "test piece 12", " ", 1)); a.status != 400 ||
		!strings.Contains(string(a.body), `"evidence"`) {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("reviewer", "GET", "/api/office/competences", ""); !strings.Contains(string(a.body), "test piece 12") {
		t.Errorf("%s", a.body)
	}
}

// TestNobodyBringsALookback: look-backs are made at the office; one that a device pushes is
// quarantined.
func TestNobodyBringsALookback(t *testing.T) {
	p := newPlant(t)
	drafter := plant.Drafter{Device: "d3sk", Author: id("reviewer"), Random: rand.NewChaCha8([32]byte{2})}
	one, made, err := drafter.New("lookback", "", "", p.now, set("standard", "x"))
	if err != nil {
		t.Fatal(err)
	}
	if _, aside, _ := p.brought("reviewer", one); aside != 1 {
		t.Error("it is not set aside")
	}
	if a := p.do("reviewer", "GET", "/api/office/lookbacks", ""); strings.Contains(string(a.body), made.ID) {
		t.Errorf("%s", a.body)
	}
}

// TestTheRegisterAsASpreadsheet checks that it has what the CSV has, with numbers as numbers and no
// formula.
func TestTheRegisterAsASpreadsheet(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	f.make("instrument", "", set("tag", "=PI-1"), set("range", doc{"low": "-1", "high": "2.50", "unit": "bar"}))
	a := p.do("reviewer", "GET", "/api/office/table.xlsx?columns=tag,range", "")
	if a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	book, err := excelize.OpenReader(bytes.NewReader(a.body))
	if err != nil {
		t.Fatal(err)
	}
	for cell, want := range map[string]string{"A1": "tag", "A2": "=PI-1", "B2": "-1", "C2": "2.5", "D2": "bar"} {
		if got, err := book.GetCellValue("register", cell); err != nil || got != want {
			t.Errorf("%s: %q, want %q; %v", cell, got, want, err)
		}
	}
	if formula, err := book.GetCellFormula("register", "A2"); err != nil || formula != "" {
		t.Errorf("the tag is the formula %q; %v", formula, err)
	}
}
