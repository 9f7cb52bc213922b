package api_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
)

// ends posts a log-out as the provider does; claims are added to the usual ones of the token.
func (o *outside) ends(p *testPlant, claims map[string]any) int {
	o.t.Helper()
	options := (&jose.SignerOptions{}).WithHeader("kid", "one").WithType("logout+jwt")
	signer, err := jose.NewSigner(jose.SigningKey{Algorithm: jose.ES256, Key: o.with}, options)
	if err != nil {
		o.t.Fatal(err)
	}
	whole := map[string]any{
		"iss": o.url, "aud": clientID, "iat": p.now.Unix(), "exp": p.now.Add(2 * time.Minute).Unix(),
		"events": map[string]any{"http://schemas.openid.net/event/backchannel-logout": map[string]any{}},
	}
	for k, v := range claims {
		whole[k] = v
	}
	form := url.Values{"logout_token": {o.sealed(signer, whole)}}
	r := httptest.NewRequest("POST", "/api/openid/logout", strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, r)
	if w.Header().Get("Cache-Control") != "no-store" {
		o.t.Errorf("%v", w.Header())
	}
	return w.Code
}

// renews reports whether a log-in continues, and returns its next cookie.
func (p *testPlant) renews(of *http.Cookie) (*http.Cookie, bool) {
	p.t.Helper()
	r := httptest.NewRequest("POST", "/api/refresh", nil)
	r.AddCookie(of)
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if c.Name == "__Host-gw_refresh" && c.Value != "" {
			of = c
		}
	}
	return of, w.Code == 200
}

// TestTheProviderLogsOut checks that a log-out at the provider ends the log-ins here that came by
// it, in one browser or in all. It ends no others, and none without the provider's signature.
func TestTheProviderLogsOut(t *testing.T) {
	p := newPlant(t)
	o := newOutside(t, p.clock)
	withOutside(t, p, o, "preferred_username")
	p.expect("technician", "ona@office.example")
	comes := func(session string) *http.Cookie {
		t.Helper()
		if o.claims["sid"] = session; session == "" {
			delete(o.claims, "sid")
		}
		a := o.comes(p, nil)
		if a.cookie == nil {
			t.Fatalf("%d %v", a.status, a.header)
		}
		return a.cookie
	}
	_, own := p.login("technician", &p.browser) // with the password
	one, two, silent := comes("at home"), comes("at work"), comes("")
	goes := func(what string, of **http.Cookie, want bool) {
		t.Helper()
		next, on := p.renews(*of)
		if *of = next; on != want {
			t.Errorf("%s: goes on %v, not %v", what, on, want)
		}
	}
	wrong := *o
	wrong.with = newOutside(t, p.clock).key
	for what, code := range map[string]int{
		"signed by another": wrong.ends(p, map[string]any{"sub": "s-1", "jti": "w"}),
		"no name":           o.ends(p, map[string]any{"sub": "s-1"}),
		"an ID token":       o.ends(p, map[string]any{"sub": "s-1", "jti": "n", "nonce": "n"}),
	} {
		if code != 400 {
			t.Errorf("%s: %d", what, code)
		}
	}
	if code := o.ends(p, map[string]any{"sub": "s-9", "jti": "9"}); code != 200 {
		t.Errorf("somebody unknown: %d", code) // already logged out here
	}
	goes("after what said nothing", &one, true)
	if code := o.ends(p, map[string]any{"sid": "at home", "jti": "a"}); code != 200 {
		t.Fatal(code)
	}
	if got := p.eventsOf("")[0]; got.Kind != "openid_logout" || got.About != "technician" {
		t.Errorf("%+v", got)
	}
	goes("the browser at home", &one, false)
	goes("the browser at work", &two, true)
	again := comes("at home")
	if code := o.ends(p, map[string]any{"sid": "at home", "jti": "a"}); code != 400 {
		t.Errorf("the same once more: %d", code)
	}
	goes("after the same once more", &again, true)
	if code := o.ends(p, map[string]any{"sub": "s-1", "sid": "at work", "jti": "b"}); code != 200 {
		t.Fatal(code)
	}
	goes("the browser at work", &two, false)
	goes("one of which nobody knows the session", &silent, false)
	goes("another session", &again, true)
	if code := o.ends(p, map[string]any{"sub": "s-1", "jti": "c"}); code != 200 {
		t.Fatal(code)
	}
	goes("all of the subject", &again, false)
	own.Name = "__Host-gw_refresh"
	goes("by the password", &own, true)
}
