package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

// asking sends a request with a person's token and cookie.
func (p *testPlant) asking(who, method, path string) answer {
	p.t.Helper()
	r := httptest.NewRequest(method, path, nil)
	r.Header.Set("Authorization", "Bearer "+p.tokens[who])
	r.AddCookie(p.cookies[who])
	return p.send(r)
}

func TestOwnLogins(t *testing.T) {
	p := newPlant(t)
	first, firstCookie := p.tokens["reviewer"], p.cookies["reviewer"]
	again := httptest.NewRequest(
		"POST", "/api/login", strings.NewReader(fmt.Sprintf(`{"name":"reviewer","password":%q}`, secret)),
	)
	again.Header.Set("Content-Type", "application/json")
	again.Header.Set("User-Agent", "a tablet")
	var in struct{ Access string }
	a := p.send(again)
	if err := json.Unmarshal(a.body, &in); err != nil {
		t.Fatal(err)
	}
	p.tokens["reviewer"], p.cookies["reviewer"] = in.Access, a.cookie
	var list struct {
		Logins []struct {
			ID, Device string
			This       bool
		}
	}
	a = p.asking("reviewer", "GET", "/api/logins")
	if err := json.Unmarshal(a.body, &list); err != nil || len(list.Logins) != 2 ||
		strings.Contains(string(a.body), p.cookies["reviewer"].Value) {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	other := ""
	for _, l := range list.Logins {
		if l.This != (l.Device == "a tablet") {
			t.Errorf("%+v", l)
		}
		if !l.This {
			other = l.ID
		}
	}
	if a := p.asking("technician", "DELETE", "/api/logins/"+other); a.status != 404 {
		t.Errorf("ended by somebody else: %d", a.status)
	}
	if a := p.asking("reviewer", "DELETE", "/api/logins/"+other); a.status != 204 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.do(first, "GET", "/api/tree", ""); a.status != 401 {
		t.Errorf("the ended log-in goes on: %d", a.status)
	}
	renew := httptest.NewRequest("POST", "/api/refresh", nil)
	renew.AddCookie(firstCookie)
	if a := p.send(renew); a.status != 401 {
		t.Errorf("the ended log-in was renewed: %d", a.status)
	}
	if a := p.asking("reviewer", "DELETE", "/api/logins"); a.status != 204 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := p.asking("reviewer", "GET", "/api/logins"); a.status != 200 || strings.Count(string(a.body), `"id"`) != 1 {
		t.Errorf("ending the others ended this one: %d %s", a.status, a.body)
	}
}

func TestRevokedIsRestoredOnPurposeOnly(t *testing.T) {
	p := newPlant(t)
	user := "/api/users/" + id("technician")
	for _, step := range []struct {
		path, body string
		want       int
	}{
		{user + "/revoke", "", 204},
		{"/api/users", `{"name":"technician","password":"` + secret + `","role":"technician"}`, 409},
		{user + "/password", `{"password":"another long secret"}`, 204},
		{user + "/restore", "", 204},
		{"/api/login", `{"name":"technician","password":"` + secret + `"}`, 401},
		{"/api/login", `{"name":"technician","password":"another long secret"}`, 200},
		{user + "/password", `{"password":"short"}`, 400},
	} {
		if a := p.do("administrator", "POST", step.path, step.body); a.status != step.want {
			t.Errorf("%s: %d, want %d: %s", step.path, a.status, step.want, a.body)
		}
	}
}

// TestGuessersDoNotStopTheWork sends 1,000 wrong passwords at once, each for another name from
// another address, while a phone syncs.
func TestGuessersDoNotStopTheWork(t *testing.T) {
	p := newPlant(t)
	const guesses = 1000
	var busy, wrong, done atomic.Int64
	var all sync.WaitGroup
	for i := range guesses {
		all.Go(func() {
			r := httptest.NewRequest(
				"POST", "/api/login",
				strings.NewReader(fmt.Sprintf(`{"name":"n%d","password":"a wrong password"}`, i)),
			)
			r.Header.Set("Content-Type", "application/json")
			r.RemoteAddr = fmt.Sprintf("10.0.%d.%d:1000", i/250, i%250)
			w := httptest.NewRecorder()
			p.handler.ServeHTTP(w, r)
			switch {
			case w.Code == http.StatusUnauthorized:
				wrong.Add(1)
			case w.Code == http.StatusServiceUnavailable && w.Header().Get("Retry-After") != "" && strings.Contains(w.Body.String(), `"code":"busy"`):
				busy.Add(1)
			default:
				t.Errorf("a guess was answered %d %s", w.Code, w.Body)
			}
			done.Add(1)
		})
	}
	a := p.do("technician", "POST", "/api/sync", push(made("c1", id("technician"), "visit", "f")))
	if a.status != 200 || !strings.Contains(string(a.body), `"acknowledged":["c1"]`) {
		t.Errorf("the sync: %d %s", a.status, a.body)
	}
	if done.Load() == guesses && wrong.Load() > 100 {
		t.Error("the sync waited for the guesses")
	}
	all.Wait()
	if busy.Load() == 0 || wrong.Load() == 0 || busy.Load()+wrong.Load() != guesses {
		t.Errorf("%d were refused as busy, %d as wrong", busy.Load(), wrong.Load())
	}
	t.Logf("%d guesses refused at once, %d checked", busy.Load(), wrong.Load())
	if a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"reviewer","password":%q}`, secret)); a.status != 200 {
		t.Errorf("a log-in afterwards: %d %s", a.status, a.body)
	}
}
