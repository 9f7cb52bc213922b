package api_test

import (
	"encoding/json"
	"strings"
	"testing"

	"gaugewright/server/plant"
)

// token makes a token as an administrator does.
func (p *testPlant) token(scopes string) (id, secret string) {
	p.t.Helper()
	a := p.do("administrator", "POST", "/api/machines/tokens",
		`{"name":"ledger","scopes":[`+scopes+`],"until":"2026-04-01"}`)
	var in struct{ ID, Secret string }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 201 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return in.ID, in.Secret
}

// TestTokensOfMachines checks that only an administrator has them, that a person's log-in is not
// one, and the reverse.
func TestTokensOfMachines(t *testing.T) {
	p := newPlant(t)
	for _, who := range []string{"technician", "reviewer"} {
		p.refused("role", 403, who, "/api/machines/tokens", `{}`)
	}
	id, secret := p.token(`"read:standards"`)
	if a := p.do(secret, "GET", "/api/v1/standards", ""); a.status != 200 ||
		a.header.Get("Cache-Control") != "private, no-cache" {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("administrator", "GET", "/api/v1/standards", ""); a.status != 401 {
		t.Errorf("a log-in: %d %s", a.status, a.body)
	}
	if a := p.do(secret, "GET", "/api/users", ""); a.status != 401 {
		t.Errorf("a token: %d %s", a.status, a.body)
	}
	if a := p.do("", "GET", "/api/v1/openapi.json", ""); a.status != 200 || !strings.Contains(string(a.body), `"3.1.0"`) {
		t.Errorf("%d", a.status)
	}
	for path, want := range map[string]int{"/api/v1/none": 404, "/api/v1": 404, "/api/v1/about": 405} {
		a := p.do(secret, map[bool]string{true: "DELETE", false: "GET"}[want == 405], path, "")
		if a.status != want || a.header.Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s: %d %s", path, a.status, a.body)
		}
	}
	list := p.do("administrator", "GET", "/api/machines/tokens", "")
	if strings.Contains(string(list.body), secret) || !strings.Contains(string(list.body), `"until":"2026-04-02T00:00:00Z"`) {
		t.Errorf("%s", list.body)
	}
	p.noted("machine_token_made", "administrator", "ledger", "2026-04-01")
	if a := p.do("administrator", "DELETE", "/api/machines/tokens/"+id, ""); a.status != 204 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do(secret, "GET", "/api/v1/standards", ""); a.status != 401 {
		t.Errorf("ended: %d", a.status)
	}
	p.refused("range", 400, "administrator", "/api/machines/tokens", `{"name":"x","scopes":["read:due"],"until":"soon"}`)
	if log := p.do("administrator", "GET", "/api/events", ""); !strings.Contains(string(log.body), "machine_token_ended") ||
		!strings.Contains(string(log.body), "machine_used") {
		t.Errorf("%s", log.body)
	}
}

// TestAnOrderIsDone checks that approving a visit that names an order completes the order.
func TestAnOrderIsDone(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	gauge := f.make("instrument", "", set("tag", "PI-77"), set("serial", "S1"), set("status", "in service"))
	_, secret := p.token(`"read:orders","write:orders"`)
	a := p.do(secret, "POST", "/api/v1/orders", `{"number":"WO-1","tags":["pi-77"],"wanted":"2026-04-01"}`)
	if a.status != 201 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	orders := func() []plant.Ordered {
		i, err := plant.LoadInstrument(p.store, gauge.ID)
		if err != nil {
			t.Fatal(err)
		}
		return i.Orders
	}
	if got := orders(); len(got) != 1 || got[0].Number != "WO-1" || got[0].Done != "" || got[0].From != "ledger" {
		t.Fatalf("%+v", got)
	}
	visit, _ := f.visit("PI-77", "pass", true, set("instrument", gauge.ID), set("order", doc{"number": "WO-1"}))
	a = p.do("reviewer", "POST", "/api/office/visits/"+visit.ID+"/approve", js(doc{"covers": f.covers(visit.ID)}))
	if a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if got := orders(); len(got) != 1 || got[0].Done != visit.ID {
		t.Errorf("%+v", got)
	}
	for method, path := range map[string]string{"PUT": "/api/v1/orders/WO-1", "DELETE": "/api/v1/orders/WO-1"} {
		body := ""
		if method == "PUT" {
			body = `{"tags":["PI-77"],"text":"again"}`
		}
		if a := p.do(secret, method, path, body); a.status != 409 || !strings.Contains(string(a.body), `"code":"done"`) {
			t.Errorf("%s: %d %s", method, a.status, a.body)
		}
	}
}

// TestHooksOfTheOffice checks that only an administrator has them, and that a secret is shown once.
func TestHooksOfTheOffice(t *testing.T) {
	p := newPlant(t)
	p.refused("role", 403, "reviewer", "/api/hooks", `{}`)
	p.refused("range", 400, "administrator", "/api/hooks", `{"name":"x","url":"https://10.0.0.1/"}`)
	p.refused("range", 400, "administrator", "/api/hooks", `{"name":"x","url":"https://receiver.example/","events":["all"]}`)
	a := p.do("administrator", "POST", "/api/hooks",
		`{"name":"ledger","url":"https://receiver.example/in","events":["visit.approved"]}`)
	var made struct{ ID, Secret string }
	if err := json.Unmarshal(a.body, &made); err != nil || a.status != 201 || !strings.HasPrefix(made.Secret, "whsec_") {
		t.Fatalf("%d %s", a.status, a.body)
	}
	list := p.do("administrator", "GET", "/api/hooks", "")
	if list.status != 200 || strings.Contains(string(list.body), made.Secret) ||
		!strings.Contains(string(list.body), `"url":"https://receiver.example/in"`) {
		t.Errorf("%d %s", list.status, list.body)
	}
	for _, step := range []struct {
		method, path, body string
		status             int
	}{
		{"GET", "/api/hooks/messages", "", 200},
		{"POST", "/api/hooks/messages", `{"key":"none"}`, 404},
		{"POST", "/api/hooks/" + made.ID + "/resume", "", 204},
		{"DELETE", "/api/hooks/" + made.ID, "", 204},
		{"DELETE", "/api/hooks/" + made.ID, "", 404},
	} {
		if a := p.do("administrator", step.method, step.path, step.body); a.status != step.status {
			t.Errorf("%s %s: %d %s", step.method, step.path, a.status, a.body)
		}
	}
}

// TestCalendars checks that an administrator makes them, and that anyone with the address reads
// them until they end.
func TestCalendars(t *testing.T) {
	p := newPlant(t)
	p.refused("role", 403, "reviewer", "/api/feeds", `{}`)
	p.refused("range", 400, "administrator", "/api/feeds", `{"name":"","rounds":true}`)
	a := p.do("administrator", "POST", "/api/feeds", `{"name":"rounds","rounds":true,"person":"`+id("technician")+`"}`)
	var made struct{ ID, Address string }
	if err := json.Unmarshal(a.body, &made); err != nil || a.status != 201 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	path := strings.TrimPrefix(made.Address, "http://example.com")
	if a := p.do("", "GET", path, ""); a.status != 200 || !strings.HasPrefix(string(a.body), "BEGIN:VCALENDAR\r\n") ||
		a.header.Get("Content-Type") != "text/calendar; charset=utf-8" {
		t.Errorf("%s: %d %s", path, a.status, a.body)
	}
	list := p.do("administrator", "GET", "/api/feeds", "")
	if strings.Contains(string(list.body), "calendar/") || !strings.Contains(string(list.body), `"person":"technician"`) {
		t.Errorf("%s", list.body)
	}
	for path, want := range map[string]int{"/api/calendar/guess.ics": 404, strings.TrimSuffix(path, ".ics"): 404} {
		if a := p.do("", "GET", path, ""); a.status != want {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if a := p.do("administrator", "DELETE", "/api/feeds/"+made.ID, ""); a.status != 204 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do("", "GET", path, ""); a.status != 404 {
		t.Errorf("ended: %d", a.status)
	}
}

// TestMailOfPeople checks that an administrator sets it, and that it is off without a mail server.
func TestMailOfPeople(t *testing.T) {
	p := newPlant(t)
	path := "/api/mail/people/" + id("reviewer")
	for _, step := range []struct {
		who, method, path, body string
		status                  int
	}{
		{"reviewer", "GET", "/api/mail", "", 403},
		{"administrator", "PUT", path, `{"address":"nowhere"}`, 400},
		{"administrator", "PUT", path, `{"address":"rev@plant.example","language":"de","daily":true,"at_once":true}`, 204},
		{"administrator", "POST", path + "/try", "", 409},
	} {
		if a := p.do(step.who, step.method, step.path, step.body); a.status != step.status {
			t.Errorf("%s %s: %d %s", step.method, step.path, a.status, a.body)
		}
	}
	a := p.do("administrator", "GET", "/api/mail", "")
	if !strings.Contains(string(a.body), `"address":"rev@plant.example","at_once":true`) &&
		!strings.Contains(string(a.body), `"name":"reviewer","address":"rev@plant.example","language":"de","daily":true,"at_once":true`) ||
		!strings.Contains(string(a.body), `"server":""`) {
		t.Errorf("%s", a.body)
	}
}
