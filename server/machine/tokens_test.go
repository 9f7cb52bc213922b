package machine_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/machine"
	"gaugewright/server/machine/client"
	"gaugewright/sync/store"
)

// ask sends a request without the generated client.
func (p *site) ask(secret, method, path, body string, headers ...string) (*http.Response, machine.Problem) {
	p.t.Helper()
	r, err := http.NewRequest(method, p.server.URL+"/api/v1"+path, strings.NewReader(body))
	if err != nil {
		p.t.Fatal(err)
	}
	if secret != "" {
		r.Header.Set("Authorization", "Bearer "+secret)
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	res, err := p.desc.Do(r)
	if err != nil {
		p.t.Fatal(err)
	}
	b, err := io.ReadAll(res.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	res.Body = io.NopCloser(bytes.NewReader(b))
	var said machine.Problem
	if res.StatusCode >= 400 {
		if err := json.Unmarshal(b, &said); err != nil || res.Header.Get("Content-Type") != "application/problem+json" {
			p.t.Errorf("%s %s: %s %q", method, path, res.Header.Get("Content-Type"), b)
		}
	}
	return res, said
}

func (p *site) events(kind string) (list []store.Event) {
	p.t.Helper()
	all, err := p.store.Events(0, 1000)
	if err != nil {
		p.t.Fatal(err)
	}
	return slices.DeleteFunc(all, func(e store.Event) bool { return e.Kind != kind })
}

// TestRefusals checks that each refusal is a problem by RFC 9457 that names the field.
func TestRefusals(t *testing.T) {
	p := newSite(t)
	_, reads := p.token("reads", machine.ReadInstruments)
	tag := p.tag()
	for _, tt := range []struct {
		secret, method, path, body string
		status                     int
		code, field                string
	}{
		{"", "GET", "/instruments", "", 401, "token", ""},
		{"gwm_guess", "GET", "/instruments", "", 401, "token", ""},
		{reads, "GET", "/visits", "", 403, "scope", ""},
		{reads, "POST", "/orders", `{"number":"1","tags":["x"]}`, 403, "scope", ""},
		{p.secret, "GET", "/instruments/n0where", "", 404, "not_found", ""},
		{p.secret, "GET", "/instruments?limit=0", "", 400, "range", "limit"},
		{p.secret, "GET", "/visits?cursor=%2B", "", 400, "range", "cursor"},
		{p.secret, "GET", "/visits?cursor=bm90aGVyZQ", "", 400, "range", "cursor"},
		{p.secret, "GET", "/visits?since=March", "", 400, "range", "since"},
		{p.secret, "GET", "/instruments?aera=North", "", 400, "unknown_field", "aera"},
		{p.secret, "GET", "/due?by=soon", "", 400, "range", "by"},
		{p.secret, "POST", "/orders", `{"number":"","tags":["` + tag + `"]}`, 400, "range", "number"},
		{p.secret, "POST", "/orders", `{"number":"1","tags":[]}`, 400, "range", "tags"},
		{p.secret, "POST", "/orders", `{"number":"1","tags":["` + tag + `","no such"]}`, 400, "range", "tags[1]"},
		{p.secret, "POST", "/orders", `{"number":"1","tags":["` + tag + `"],"wanted":"31.1."}`, 400, "range", "wanted"},
		{p.secret, "POST", "/orders", `{"number":"1","tags":["` + tag + `"],"priority":"now"}`, 400, "range", "priority"},
		{p.secret, "POST", "/orders", `{"number":"1","tag":"x"}`, 400, "unknown_field", "tag"},
		{p.secret, "POST", "/orders", `{"number":1}`, 400, "syntax", "number"},
		{p.secret, "PUT", "/orders/2", `{"number":"1","tags":["` + tag + `"]}`, 400, "conflict", "number"},
		{p.secret, "DELETE", "/orders/none", "", 404, "not_found", ""},
	} {
		t.Run(tt.method+" "+tt.path+" "+tt.body, func(t *testing.T) {
			res, said := p.ask(tt.secret, tt.method, tt.path, tt.body)
			if res.StatusCode != tt.status || said.Code != tt.code || said.Field != tt.field ||
				said.Status != tt.status || said.Title == "" || said.Detail == "" {
				t.Errorf("%d %+v", res.StatusCode, said)
			}
		})
	}
	if list, err := p.office.Orders("", 10); err != nil || len(list) != 0 {
		t.Errorf("%+v %v", list, err)
	}
	if got := len(p.events("machine_refused")); got != 2 {
		t.Errorf("%d refused tokens are noted", got)
	}
}

func (p *site) tag() string {
	p.t.Helper()
	page, err := p.client(p.secret).ListInstrumentsWithResponse(
		p.t.Context(), &client.ListInstrumentsParams{Limit: ptr(1), Status: ptr("in service")},
	)
	if err != nil {
		p.t.Fatal(err)
	}
	return page.JSON200.Items[0].Tag
}

// TestTokens checks that a token is stored as a hash, ends when it is ended or on its last day, and
// that its use is noted.
func TestTokens(t *testing.T) {
	p := newSite(t)
	one, secret := p.token("scada", machine.ReadDue)
	for range 3 {
		if res, _ := p.ask(secret, "GET", "/due", ""); res.StatusCode != 200 {
			t.Fatal(res.StatusCode)
		}
	}
	used := p.events("machine_used")
	if len(used) != 1 || used[0].About != "scada" || !strings.Contains(used[0].Detail, "GET /due") {
		t.Errorf("%+v", used)
	}
	p.now = p.now.Add(time.Hour)
	p.ask(secret, "GET", "/due", "")
	if used = p.events("machine_used"); len(used) != 2 || !strings.HasPrefix(used[0].Detail, "3 since") {
		t.Errorf("%+v", used)
	}
	if err := p.tokens.End(one.ID, store.Noting(store.Event{Kind: "token_ended", About: one.Name})); err != nil {
		t.Fatal(err)
	}
	if res, _ := p.ask(secret, "GET", "/due", ""); res.StatusCode != 401 {
		t.Errorf("ended: %d", res.StatusCode)
	}
	_, late := p.token("late", machine.ReadDue)
	p.now = p.now.AddDate(0, 1, 1)
	if res, _ := p.ask(late, "GET", "/due", ""); res.StatusCode != 401 {
		t.Errorf("after its day: %d", res.StatusCode)
	}
	b, err := os.ReadFile(filepath.Join(p.store.Dir(), store.File))
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(b, []byte(secret)) || bytes.Contains(b, []byte(late)) {
		t.Error("a secret is in the database")
	}
	for _, wrong := range []struct {
		name   string
		scopes []machine.Scope
		until  time.Time
	}{
		{"", machine.Scopes, p.now.AddDate(0, 1, 0)},
		{"x", nil, p.now.AddDate(0, 1, 0)},
		{"x", []machine.Scope{"write:everything"}, p.now.AddDate(0, 1, 0)},
		{"x", machine.Scopes, p.now},
		{"x", machine.Scopes, p.now.AddDate(9, 0, 0)},
	} {
		if _, _, err := p.tokens.Make(wrong.name, wrong.scopes, nil, wrong.until, "", noted("x")); err == nil {
			t.Errorf("%+v is made", wrong)
		}
	}
}

// TestWhatTheAskerHas checks that a reply the client already has is not sent again (RFC 9110,
// 13.1.2).
func TestWhatTheAskerHas(t *testing.T) {
	p := newSite(t)
	first, _ := p.ask(p.secret, "GET", "/standards", "")
	tag := first.Header.Get("ETag")
	again, _ := p.ask(p.secret, "GET", "/standards", "", "If-None-Match", `"x", `+tag)
	other, _ := p.ask(p.secret, "GET", "/standards?limit=1", "", "If-None-Match", tag)
	if tag == "" || again.StatusCode != 304 || again.ContentLength > 0 || other.StatusCode != 200 {
		t.Errorf("%q: %d, %d", tag, again.StatusCode, other.StatusCode)
	}
}

// TestPace checks that a token that asks too often has to wait, and another one does not.
func TestPace(t *testing.T) {
	p := newSite(t)
	_, other := p.token("another", machine.ReadDue)
	refused := 0
	for range 130 {
		res, said := p.ask(p.secret, "GET", "/about", "")
		if res.StatusCode == 429 {
			refused++
			if said.Code != "too_many" || res.Header.Get("Retry-After") == "" {
				t.Fatalf("%+v %v", said, res.Header)
			}
		}
	}
	if refused != 30 {
		t.Errorf("%d of 130 were refused", refused)
	}
	if res, _ := p.ask(other, "GET", "/due", ""); res.StatusCode != 200 {
		t.Errorf("another token: %d", res.StatusCode)
	}
	p.now = p.now.Add(time.Second)
	if res, _ := p.ask(p.secret, "GET", "/about", ""); res.StatusCode != 200 {
		t.Errorf("a second later: %d", res.StatusCode)
	}
}

// TestTheSameRequestAgain checks that the same request gets the same reply by its Idempotency-Key,
// and that another request gets none.
func TestTheSameRequestAgain(t *testing.T) {
	p := newSite(t)
	body := fmt.Sprintf(`{"number":"A-1","tags":[%q]}`, p.tag())
	for _, want := range []int{201, 201} {
		if res, said := p.ask(p.secret, "POST", "/orders", body, "Idempotency-Key", "k1"); res.StatusCode != want {
			t.Errorf("%d %+v", res.StatusCode, said)
		}
	}
	res, said := p.ask(p.secret, "POST", "/orders", strings.Replace(body, "A-1", "A-2", 1), "Idempotency-Key", "k1")
	if res.StatusCode != 422 || said.Code != "idempotency_key" {
		t.Errorf("%d %+v", res.StatusCode, said)
	}
	if got := p.events("order_taken"); len(got) != 1 || got[0].Detail != "A-1" {
		t.Errorf("%+v", got)
	}
	p.now = p.now.AddDate(0, 0, 2)
	if res, _ := p.ask(p.secret, "POST", "/orders", body, "Idempotency-Key", "k1"); res.StatusCode != 200 {
		t.Errorf("two days later: %d", res.StatusCode)
	}
	other := fmt.Sprintf(`{"tags":[%q],"text":"in the morning"}`, p.tag())
	for _, step := range []struct{ method, body, kind string }{
		{"PUT", other, "order_changed"}, {"DELETE", "", "order_withdrawn"},
	} {
		if res, said := p.ask(p.secret, step.method, "/orders/A-1", step.body); res.StatusCode/100 != 2 {
			t.Errorf("%s: %d %+v", step.method, res.StatusCode, said)
		}
		if got := p.events(step.kind); len(got) == 0 || got[0].Detail != "A-1" {
			t.Errorf("%s: %+v", step.kind, got)
		}
	}
}
