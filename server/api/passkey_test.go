package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
)

const passkeyOrigin = "https://gauges.example"

// askedFor is a request to the browser.
type askedFor struct {
	Options  credentialOptions
	Ceremony string
}

func withPasskeys(t *testing.T) *testPlant {
	t.Helper()
	p := newPlant(t)
	if err := p.keeper.UsePasskeys(passkeyOrigin, ""); err != nil {
		t.Fatal(err)
	}
	return p
}

// begins fetches a request to the browser.
func (p *testPlant) begins(who, path, body string) (a askedFor) {
	p.t.Helper()
	r := p.do(who, "POST", path, body)
	if err := json.Unmarshal(r.body, &a); err != nil || r.status != 200 || a.Ceremony == "" {
		p.t.Fatalf("%s: %d %s %v", path, r.status, r.body, err)
	}
	return a
}

// adds gives a user a passkey; p.tokens has their access token.
func (p *testPlant) adds(who, name string, key *authenticator) answer {
	p.t.Helper()
	asked := p.begins(who, "/api/account/passkeys", `{"password":"`+secret+`"}`)
	return p.do(who, "POST", "/api/account/passkeys/finish", fmt.Sprintf(
		`{"ceremony":%q,"name":%q,"answer":%s}`, asked.Ceremony, name, key.make(asked.Options),
	))
}

func (p *testPlant) answers(ceremony string, signed json.RawMessage) answer {
	p.t.Helper()
	return p.do("", "POST", "/api/login/passkey/finish", fmt.Sprintf(`{"ceremony":%q,"answer":%s}`, ceremony, signed))
}

// entersAlone logs in with a passkey and nothing else.
func (p *testPlant) entersAlone(key *authenticator) answer {
	p.t.Helper()
	asked := p.begins("", "/api/login/passkey", `{}`)
	return p.answers(asked.Ceremony, key.sign(asked.Options))
}

// TestPasskeys goes from the first passkey to the last, with the log-ins that they open and end.
func TestPasskeys(t *testing.T) {
	p := withPasskeys(t)
	key := newAuthenticator(t)
	other, _ := p.login("reviewer", &p.browser) // on another device
	if a := p.do("reviewer", "POST", "/api/account/passkeys", `{"password":"not it"}`); a.status != 403 {
		t.Errorf("without the password: %d %s", a.status, a.body)
	}
	asked := p.begins("reviewer", "/api/account/passkeys", `{"password":"`+secret+`"}`)
	if asked.Options.RP.ID != "gauges.example" || strings.Contains(asked.Options.User.ID, "reviewer") {
		t.Errorf("%+v", asked.Options)
	}
	made := key.make(asked.Options)
	finish := func(name string) answer {
		body := fmt.Sprintf(`{"ceremony":%q,"name":%q,"answer":%s}`, asked.Ceremony, name, made)
		return p.asks("reviewer", "POST", "/api/account/passkeys/finish", body)
	}
	if a := finish(" "); a.status != 400 || !strings.Contains(string(a.body), "name") {
		t.Errorf("without a name: %d %s", a.status, a.body)
	}
	a := finish("a phone")
	var given struct{ Recovery []string }
	if err := json.Unmarshal(a.body, &given); err != nil || a.status != 200 || len(given.Recovery) != 10 {
		t.Fatalf("%d %s %v", a.status, a.body, err)
	}
	if got := p.eventsOf("")[0]; got.Kind != "passkey_added" || got.By != "reviewer" || got.Detail != "a phone" {
		t.Errorf("%+v", got)
	}
	if a := p.do(other, "GET", "/api/tree", ""); a.status != 401 {
		t.Errorf("the other log-in goes on: %d", a.status)
	}

	// Alone, by its owner.
	a = p.entersAlone(key)
	var in struct {
		Access string
		User   struct{ Name string }
	}
	if err := json.Unmarshal(a.body, &in); err != nil || in.User.Name != "reviewer" || a.cookie == nil {
		t.Fatalf("alone: %d %s", a.status, a.body)
	}
	if got := p.eventsOf("")[0]; got.Kind != "login" || got.By != "reviewer" ||
		!strings.HasPrefix(got.Detail, "passkey;") {
		t.Errorf("%+v", got)
	}
	p.tokens["passkey"], p.cookies["passkey"] = in.Access, a.cookie

	// After the password.
	if a := p.do("", "POST", "/api/login", `{"name":"reviewer","password":"`+secret+`"}`); a.status != 401 ||
		!strings.Contains(string(a.body), `"field":"passkey"`) {
		t.Errorf("the password alone: %d %s", a.status, a.body)
	}
	asked = p.begins("", "/api/login/passkey", `{"name":"reviewer","password":"`+secret+`"}`)
	if len(asked.Options.AllowCredentials) != 1 {
		t.Errorf("%+v", asked.Options)
	}
	if a := p.answers(asked.Ceremony, key.sign(asked.Options)); a.status != 200 {
		t.Errorf("after the password: %d %s", a.status, a.body)
	}
	if a := p.do("", "POST", "/api/login/passkey", `{"name":"reviewer","password":"wrong"}`); a.status != 401 ||
		!strings.Contains(string(a.body), `"login"`) {
		t.Errorf("after a wrong password: %d %s", a.status, a.body)
	}
	if a := p.do("", "POST", "/api/login/passkey", `{"name":"technician","password":"`+secret+`"}`); a.status != 404 {
		t.Errorf("of somebody without one: %d %s", a.status, a.body)
	}
	if a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"reviewer","password":%q,"code":%q}`, secret, given.Recovery[3])); a.status != 200 {
		t.Errorf("by a recovery code: %d %s", a.status, a.body)
	}

	// Where a second factor is required, a passkey is one.
	p.handler = api.New(
		api.Deps{
			Store: p.store, Keeper: p.keeper, Now: p.clock, Client: fstest.MapFS{"index.html": {}}, RequireSecond: true,
		},
	)
	if a := p.do("passkey", "GET", "/api/office/day", ""); a.status != 200 {
		t.Errorf("the office with a passkey: %d %s", a.status, a.body)
	}
	var account struct {
		Codes, Wanted, Second bool
		Passkeys              []struct{ ID, Name, Made, Used string }
	}
	a = p.do("passkey", "GET", "/api/account", "")
	if err := json.Unmarshal(a.body, &account); err != nil || len(account.Passkeys) != 1 {
		t.Fatalf("%s %v", a.body, err)
	}
	shown := account.Passkeys[0]
	if account.Codes || account.Wanted || !account.Second || shown.Name != "a phone" || shown.Used == "" ||
		strings.Contains(string(a.body), "publicKey") {
		t.Errorf("%s", a.body)
	}

	// Removed, by its owner alone.
	path := "/api/account/passkeys/" + shown.ID
	if a := p.do("technician", "DELETE", path, `{"password":"`+secret+`"}`); a.status != 404 {
		t.Errorf("removed by somebody else: %d %s", a.status, a.body)
	}
	if a := p.do("passkey", "DELETE", path, `{"password":"wrong"}`); a.status != 403 {
		t.Errorf("removed without the password: %d %s", a.status, a.body)
	}
	if a := p.asks("passkey", "DELETE", path, `{"password":"`+secret+`"}`); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if a := p.do("reviewer", "GET", "/api/tree", ""); a.status != 401 {
		t.Errorf("the other log-in goes on: %d", a.status)
	}
	if a := p.do("passkey", "GET", "/api/office/day", ""); a.status != 403 {
		t.Errorf("the office without it: %d %s", a.status, a.body)
	}
	p.handler = p.open()
	if got := p.eventsOf("")[0]; got.Kind != "passkey_removed" || got.Detail != "a phone" {
		t.Errorf("%+v", got)
	}
	if a := p.entersAlone(key); a.status != 401 || !strings.Contains(string(a.body), "passkey_unknown") {
		t.Errorf("by a removed passkey: %d %s", a.status, a.body)
	}
	if a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"reviewer","password":%q}`, secret)); a.status != 200 {
		t.Errorf("after its end the password alone: %d %s", a.status, a.body)
	}
	if a := p.do("", "POST", "/api/login", fmt.Sprintf(`{"name":"reviewer","password":%q,"code":%q}`, secret, given.Recovery[4])); a.status != 200 {
		t.Errorf("%d %s", a.status, a.body)
	}
}

// TestPasskeysAreRefused checks that each invalid answer is refused and leaves the account as it
// was.
func TestPasskeysAreRefused(t *testing.T) {
	p := withPasskeys(t)
	key, bens := newAuthenticator(t), newAuthenticator(t)
	for who, one := range map[string]*authenticator{"reviewer": key, "technician": bens} {
		if a := p.adds(who, "a key", one); a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		p.tokens[who], p.cookies[who] = p.passkeyLogin(one)
	}
	alone := func() askedFor { return p.begins("", "/api/login/passkey", `{}`) }
	after := func() askedFor {
		return p.begins("", "/api/login/passkey", `{"name":"reviewer","password":"`+secret+`"}`)
	}
	with := func(change func(*authenticator)) *authenticator {
		one := *key
		change(&one)
		return &one
	}
	for name, tt := range map[string]struct {
		asked func() askedFor
		key   func() *authenticator
		code  string
	}{
		"another origin": {alone, func() *authenticator {
			return with(func(a *authenticator) { a.origin = "https://gauges.example.evil.test" })
		}, "passkey"},
		"another port":   {alone, func() *authenticator { return with(func(a *authenticator) { a.origin += ":8443" }) }, "passkey"},
		"another domain": {alone, func() *authenticator { return with(func(a *authenticator) { a.domain = "evil.test" }) }, "passkey"},
		"another key":    {alone, func() *authenticator { return with(func(a *authenticator) { a.key = bens.key }) }, "passkey"},
		"who it is was not seen": {
			alone, func() *authenticator { return with(func(a *authenticator) { a.seesWho = false }) }, "passkey",
		},
		"another's handle": {alone, func() *authenticator { return with(func(a *authenticator) { a.handle = bens.handle }) }, "passkey_unknown"},
		"nobody's handle": {
			alone, func() *authenticator { return with(func(a *authenticator) { a.handle = []byte("nobody") }) }, "passkey_unknown",
		},
		"no handle":                          {alone, func() *authenticator { return with(func(a *authenticator) { a.handle = nil }) }, "passkey_unknown"},
		"another's passkey after a password": {after, func() *authenticator { return bens }, "passkey_unknown"},
		"another's passkey under one's handle": {after, func() *authenticator {
			one := *bens
			one.handle = key.handle
			return &one
		}, "passkey_unknown"},
		"another challenge": {func() askedFor {
			first, second := alone(), alone()
			first.Options.Challenge = second.Options.Challenge
			return first
		}, func() *authenticator { return with(func(*authenticator) {}) }, "passkey"},
		"a ceremony that was not begun here": {func() askedFor {
			a := alone()
			a.Ceremony = "e30." + strings.Split(a.Ceremony, ".")[1]
			return a
		}, func() *authenticator { return with(func(*authenticator) {}) }, "passkey_spent"},
		"a ceremony of an account's page": {func() askedFor {
			a := p.begins("reviewer", "/api/account/passkeys", `{"password":"`+secret+`"}`)
			a.Options.RPID = a.Options.RP.ID
			return a
		}, func() *authenticator { return with(func(*authenticator) {}) }, "passkey_spent"},
	} {
		t.Run(name, func(t *testing.T) {
			p.now = p.now.Add(time.Hour) // failures cost a wait
			p.refreshed("reviewer")
			asked := tt.asked()
			a := p.answers(asked.Ceremony, tt.key().sign(asked.Options))
			if a.status != 401 || !strings.Contains(string(a.body), `"code":"`+tt.code+`"`) || a.cookie != nil {
				t.Errorf("%d %s", a.status, a.body)
			}
		})
	}
	p.now = p.now.Add(time.Hour)
	if a := p.entersAlone(key); a.status != 200 {
		t.Errorf("the right one afterwards: %d %s", a.status, a.body)
	}
}

// passkeyLogin logs in with a passkey alone.
func (p *testPlant) passkeyLogin(key *authenticator) (token string, cookie *http.Cookie) {
	p.t.Helper()
	a := p.entersAlone(key)
	var in struct{ Access string }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	return in.Access, a.cookie
}

// TestAPasskeyAnswersOnce checks that a repeated answer and a late one open nothing.
func TestAPasskeyAnswersOnce(t *testing.T) {
	p := withPasskeys(t)
	key := newAuthenticator(t)
	key.counts = false // like the passkeys of phones, which have no counter
	if a := p.adds("reviewer", "a phone", key); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	asked := p.begins("", "/api/login/passkey", `{}`)
	signed := key.sign(asked.Options)
	if a := p.answers(asked.Ceremony, signed); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if a := p.answers(asked.Ceremony, signed); a.status != 401 || !strings.Contains(string(a.body), "passkey_spent") {
		t.Errorf("again: %d %s", a.status, a.body)
	}
	asked = p.begins("", "/api/login/passkey", `{}`)
	p.now = p.now.Add(5*time.Minute + time.Second)
	if a := p.answers(asked.Ceremony, key.sign(asked.Options)); a.status != 401 ||
		!strings.Contains(string(a.body), "passkey_spent") {
		t.Errorf("late: %d %s", a.status, a.body)
	}
	asked = p.begins("", "/api/login/passkey", `{"name":"reviewer","password":"`+secret+`"}`)
	if err := p.keeper.SetPassword(id("reviewer"), "another long secret"); err != nil {
		t.Fatal(err)
	}
	if a := p.answers(asked.Ceremony, key.sign(asked.Options)); a.status != 401 ||
		!strings.Contains(string(a.body), "passkey_spent") {
		t.Errorf("after another password: %d %s", a.status, a.body)
	}
}

// TestACopyOfAPasskeyIsSeen checks that a counter that goes back is refused and noted, even after
// other log-ins.
func TestACopyOfAPasskeyIsSeen(t *testing.T) {
	p := withPasskeys(t)
	key := newAuthenticator(t)
	if a := p.adds("reviewer", "a token", key); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	copied := *key
	for range 2 {
		if a := p.entersAlone(key); a.status != 200 {
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	for _, was := range []string{"the counter was 3 and came as 2", "the counter was 3 and came as 3"} {
		a := p.entersAlone(&copied)
		if a.status != 401 || !strings.Contains(string(a.body), "passkey_counter") || a.cookie != nil {
			t.Errorf("%d %s", a.status, a.body)
		}
		got := p.eventsOf("")[0]
		if got.Kind != "passkey_counter" || got.About != "reviewer" || got.Detail != "a token: "+was {
			t.Errorf("%+v", got)
		}
	}
	if a := p.entersAlone(key); a.status != 200 {
		t.Errorf("the genuine one: %d %s", a.status, a.body)
	}
}

// TestWhoMayEnterByAPasskey checks that an ended account may not, nor one that waits for a new
// password, and that an administrator can remove lost passkeys.
func TestWhoMayEnterByAPasskey(t *testing.T) {
	p := withPasskeys(t)
	key := newAuthenticator(t)
	if a := p.adds("reviewer", "a token", key); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	them := "/api/users/" + id("reviewer")
	for _, step := range []struct {
		method, path string
		status       int
		code         string
	}{
		{"POST", them + "/revoke", 403, "revoked"},
		{"POST", them + "/restore", 200, ""},
		{"POST", them + "/invite", 401, "passkey_invited"},
		{"DELETE", them + "/second", 401, "passkey_unknown"},
	} {
		if a := p.do("administrator", step.method, step.path, ""); a.status >= 300 {
			t.Fatalf("%s: %d %s", step.path, a.status, a.body)
		}
		a := p.entersAlone(key)
		if a.status != step.status || step.code != "" && !strings.Contains(string(a.body), `"code":"`+step.code+`"`) {
			t.Errorf("after %s: %d %s", step.path, a.status, a.body)
		}
	}
	if got := p.eventsOf("")[0]; got.Kind != "login_refused" || !strings.HasPrefix(got.Detail, "passkey: ") {
		t.Errorf("%+v", got)
	}
}

// TestAServerWithoutAnAddressHasNoPasskeys checks that it has none and says so.
func TestAServerWithoutAnAddressHasNoPasskeys(t *testing.T) {
	p := newPlant(t)
	for _, a := range []answer{
		p.do("", "POST", "/api/login/passkey", `{}`),
		p.do("", "POST", "/api/login/passkey/finish", `{"ceremony":"x","answer":{}}`),
		p.do("reviewer", "POST", "/api/account/passkeys", `{"password":"`+secret+`"}`),
		p.do("reviewer", "POST", "/api/account/passkeys/finish", `{"ceremony":"x","name":"n","answer":{}}`),
	} {
		if a.status != 409 || !strings.Contains(string(a.body), `"passkeys"`) {
			t.Errorf("%d %s", a.status, a.body)
		}
	}
	if a := p.do("", "GET", "/api/ways", ""); strings.TrimSpace(string(a.body)) != `{"openid":false,"passkeys":false}` {
		t.Errorf("%s", a.body)
	}
	for _, tt := range []struct{ origin, domain string }{
		{"https://192.0.2.7", ""}, {passkeyOrigin, "example.org"}, {passkeyOrigin, "s.example"}, {"gauges", ""},
	} {
		if err := p.keeper.UsePasskeys(tt.origin, tt.domain); err == nil {
			t.Errorf("%+v was taken", tt)
		}
	}
	if err := p.keeper.UsePasskeys("https://a.gauges.example", "gauges.example"); err != nil {
		t.Error(err)
	}
}

// TestAddedPasskeysAreChecked checks that the browser's answer for a new passkey is valid for this
// page and this person, once, and that no passkey is in two accounts.
func TestAddedPasskeysAreChecked(t *testing.T) {
	p := withPasskeys(t)
	begin := func(who string) askedFor {
		return p.begins(who, "/api/account/passkeys", `{"password":"`+secret+`"}`)
	}
	finish := func(who string, asked askedFor, key *authenticator) answer {
		return p.asks(who, "POST", "/api/account/passkeys/finish", fmt.Sprintf(
			`{"ceremony":%q,"name":"one","answer":%s}`, asked.Ceremony, key.make(asked.Options),
		))
	}
	evil := newAuthenticator(t)
	evil.origin = "https://evil.test"
	if a := finish("reviewer", begin("reviewer"), evil); a.status != 400 ||
		!strings.Contains(string(a.body), `"passkey"`) {
		t.Errorf("of another page: %d %s", a.status, a.body)
	}
	if a := finish("technician", begin("reviewer"), newAuthenticator(t)); a.status != 400 {
		t.Errorf("begun by another: %d %s", a.status, a.body)
	}
	asked, key := begin("reviewer"), newAuthenticator(t)
	if a := finish("reviewer", asked, key); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if a := finish("reviewer", asked, newAuthenticator(t)); a.status != 400 {
		t.Errorf("twice: %d %s", a.status, a.body)
	}
	if a := finish("technician", begin("technician"), key); a.status != 400 {
		t.Errorf("in two accounts: %d %s", a.status, a.body)
	}
	for i := 1; i < 10; i++ {
		if a := finish("reviewer", begin("reviewer"), newAuthenticator(t)); a.status != 200 ||
			strings.Contains(string(a.body), "-") {
			t.Fatalf("%d: %d %s", i, a.status, a.body)
		}
	}
	if a := p.do("reviewer", "POST", "/api/account/passkeys", `{"password":"`+secret+`"}`); a.status != 400 {
		t.Errorf("the eleventh: %d %s", a.status, a.body)
	}
}

// asks sends a request with a person's token, cookie and body.
func (p *testPlant) asks(who, method, path, body string) answer {
	p.t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+p.tokens[who])
	r.AddCookie(p.cookies[who])
	return p.send(r)
}

// refreshed renews a user's log-in after hours.
func (p *testPlant) refreshed(who string) {
	p.t.Helper()
	r := httptest.NewRequest("POST", "/api/refresh", nil)
	r.AddCookie(p.cookies[who])
	a := p.send(r)
	var in struct{ Access string }
	if err := json.Unmarshal(a.body, &in); err != nil || a.status != 200 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
	p.tokens[who], p.cookies[who] = in.Access, a.cookie
}
