package api_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/openid"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
)

const clientID = "gaugewright-office"

// outside is an OpenID Connect provider that signs whatever a test tells it to, right or wrong.
type outside struct {
	t      *testing.T
	url    string
	key    *ecdsa.PrivateKey
	asked  url.Values // by the browser
	claims map[string]any
	info   map[string]any // the user info reply; nil for none
	with   *ecdsa.PrivateKey
	none   bool // no ID token
}

func newOutside(t *testing.T, now func() time.Time) *outside {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	o := &outside{t: t, key: key, with: key}
	s := httptest.NewServer(http.HandlerFunc(o.serve))
	t.Cleanup(s.Close)
	o.url = s.URL
	o.claims = map[string]any{
		"iss": o.url, "aud": clientID, "sub": "s-1", "preferred_username": "Ona@office.example",
		"iat": now().Unix(), "exp": now().Add(5 * time.Minute).Unix(),
	}
	return o
}

func (o *outside) serve(w http.ResponseWriter, r *http.Request) {
	reply := func(status int, v any) {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		if err := json.NewEncoder(w).Encode(v); err != nil {
			o.t.Error(err)
		}
	}
	switch r.URL.Path {
	case "/.well-known/openid-configuration":
		reply(200, map[string]any{
			"issuer": o.url, "authorization_endpoint": o.url + "/authorize", "token_endpoint": o.url + "/token",
			"jwks_uri": o.url + "/keys", "userinfo_endpoint": o.url + "/info",
			"id_token_signing_alg_values_supported": []string{"ES256"},
		})
	case "/keys":
		reply(
			200,
			jose.JSONWebKeySet{
				Keys: []jose.JSONWebKey{{Key: &o.key.PublicKey, KeyID: "one", Algorithm: "ES256", Use: "sig"}},
			},
		)
	case "/info":
		reply(200, o.info)
	case "/token":
		proof := sha256.Sum256([]byte(r.FormValue("code_verifier")))
		_, password, _ := r.BasicAuth()
		if r.FormValue("code") != "the code" || password != "the-secret" ||
			base64.RawURLEncoding.EncodeToString(proof[:]) != o.asked.Get("code_challenge") || o.asked.Get("code_challenge_method") != "S256" {
			reply(400, map[string]string{"error": "invalid_grant"})
			return
		}
		tokens := map[string]any{"access_token": "access", "token_type": "Bearer"}
		if !o.none {
			tokens["id_token"] = o.token()
		}
		reply(200, tokens)
	default:
		http.NotFound(w, r)
	}
}

func (o *outside) token() string {
	options := (&jose.SignerOptions{}).WithHeader("kid", "one")
	signer, err := jose.NewSigner(jose.SigningKey{Algorithm: jose.ES256, Key: o.with}, options)
	if err != nil {
		o.t.Error(err)
		return ""
	}
	claims := map[string]any{"nonce": o.asked.Get("nonce")}
	for k, v := range o.claims {
		claims[k] = v
	}
	return o.sealed(signer, claims)
}

func (o *outside) sealed(signer jose.Signer, claims map[string]any) string {
	o.t.Helper()
	text, err := jwt.Signed(signer).Claims(claims).Serialize()
	if err != nil {
		o.t.Error(err)
	}
	return text
}

// withOutside starts the server with a provider.
func withOutside(t *testing.T, p *testPlant, o *outside, claim string, more ...func(*api.Deps)) {
	t.Helper()
	provider, err := openid.New(openid.Config{
		Issuer: o.url, Client: clientID, Secret: "the-secret", Claim: claim, Now: p.clock,
		Back: passkeyOrigin + api.OpenIDBack,
	})
	if err != nil {
		t.Fatal(err)
	}
	d := api.Deps{
		Store: p.store, Keeper: p.keeper, Now: p.clock, Client: fstest.MapFS{"index.html": {}}, OpenID: provider,
		Secure: true,
	}
	for _, f := range more {
		f(&d)
	}
	p.handler = api.New(d)
}

// comes goes to the provider and back; alter may change the way back.
func (o *outside) comes(p *testPlant, alter func(url.Values, *http.Cookie)) answer {
	o.t.Helper()
	begun := httptest.NewRecorder()
	p.handler.ServeHTTP(begun, httptest.NewRequest("GET", "/api/openid/begin", nil))
	to, err := begun.Result().Location()
	if err != nil || !strings.HasPrefix(to.String(), o.url+"/authorize?") {
		o.t.Fatalf("%d %v %v", begun.Code, to, err)
	}
	o.asked = to.Query()
	if o.asked.Get("redirect_uri") != passkeyOrigin+"/api/openid/back" || o.asked.Get("nonce") == "" ||
		o.asked.Get("prompt") != "login" {
		o.t.Fatalf("%v", o.asked)
	}
	kept := begun.Result().Cookies()[0]
	if kept.SameSite != http.SameSiteLaxMode || !kept.HttpOnly || !kept.Secure || kept.Name != "__Host-gw_openid" {
		o.t.Errorf("%+v", kept)
	}
	back := url.Values{"code": {"the code"}, "state": {o.asked.Get("state")}}
	if alter != nil {
		alter(back, kept)
	}
	r := httptest.NewRequest("GET", "/api/openid/back?"+back.Encode(), nil)
	r.Header.Set("Sec-Fetch-Site", "cross-site") // as a browser marks a return from another site
	r.AddCookie(kept)
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, r)
	a := answer{status: w.Code, header: w.Header()}
	for _, c := range w.Result().Cookies() {
		if c.Name == "__Host-gw_refresh" && c.Value != "" {
			a.cookie = c
		}
	}
	return a
}

// expect lets a person log in by the provider.
func (p *testPlant) expect(who, name string) {
	p.t.Helper()
	if a := p.do("administrator", "PUT", "/api/users/"+id(who)+"/openid", fmt.Sprintf(`{"name":%q}`, name)); a.status != 204 {
		p.t.Fatalf("%d %s", a.status, a.body)
	}
}

// TestComingByTheProvider checks that an existing account is linked to the provider's subject, and
// that only the subject counts from then on.
func TestComingByTheProvider(t *testing.T) {
	p := newPlant(t)
	o := newOutside(t, p.clock)
	withOutside(t, p, o, "preferred_username")
	goes := func(want, kind string) answer {
		t.Helper()
		a := o.comes(p, nil)
		if to := a.header.Get("Location"); a.status != 303 || to != want || (a.cookie != nil) != (want == "/#openid") {
			t.Errorf("%d to %s, wanted %s, cookie %v", a.status, to, want, a.cookie)
		}
		if got := p.eventsOf("")[0]; got.Kind != kind {
			t.Errorf("%+v", got)
		}
		return a
	}
	goes("/#openid=stranger", "login_refused")
	p.expect("technician", "ona@office.example")
	p.now = p.now.Add(time.Second)
	in := goes("/#openid", "login")
	if got := p.eventsOf("")[1]; got.Kind != "openid_linked" || got.About != "technician" ||
		got.Detail != "Ona@office.example" {
		t.Errorf("%+v", got)
	}
	r := httptest.NewRequest("POST", "/api/refresh", nil)
	r.AddCookie(in.cookie)
	w := httptest.NewRecorder()
	p.handler.ServeHTTP(w, r)
	if w.Code != 200 || !strings.Contains(w.Body.String(), `"name":"technician","role":"technician"`) {
		t.Fatalf("%d %s", w.Code, w.Body)
	}

	o.claims["preferred_username"] = "another name"
	goes("/#openid", "login")
	o.claims["sub"], o.claims["preferred_username"] = "s-2", "ona@office.example"
	goes("/#openid=stranger", "login_refused") // the name now belongs to another person
	o.claims["sub"] = "s-1"
	if a := p.do("administrator", "POST", "/api/users/"+id("technician")+"/revoke", ""); a.status != 204 {
		t.Fatal(a.status)
	}
	goes("/#openid=revoked", "login_refused")
	if got := p.eventsOf("")[0]; got.About != "technician" || got.Detail != "provider: the account was revoked" {
		t.Errorf("%+v", got)
	}
	for _, step := range []struct {
		method, path string
		want         string
	}{
		{"POST", "/restore", "/#openid"}, {"DELETE", "/openid", "/#openid=stranger"},
	} {
		if a := p.do("administrator", step.method, "/api/users/"+id("technician")+step.path, ""); a.status != 204 {
			t.Fatalf("%d %s", a.status, a.body)
		}
		if to := o.comes(p, nil).header.Get("Location"); to != step.want {
			t.Errorf("after %s %s: %s", step.method, step.path, to)
		}
	}
	p.noted("openid_expected", "administrator", "technician", "@office.example")
	p.noted("openid_ended", "administrator", "technician", "")
	if list, err := p.keeper.Users(); err != nil || len(list) != len(people) {
		t.Errorf("accounts were made: %v %v", list, err)
	}
}

// TestWhoIsExpectedComesInTime checks that a name is expected for seven days, by one account, and
// that an address which the provider has not verified identifies nobody.
func TestWhoIsExpectedComesInTime(t *testing.T) {
	p := newPlant(t)
	o := newOutside(t, p.clock)
	withOutside(t, p, o, "email")
	p.expect("technician", "ona@office.example")
	if a := p.do("administrator", "PUT", "/api/users/"+id("reviewer")+"/openid", `{"name":"ONA@office.example"}`); a.status != 409 {
		t.Errorf("expected by two: %d %s", a.status, a.body)
	}
	if a := p.do("administrator", "PUT", "/api/users/"+id("reviewer")+"/openid", `{"name":" "}`); a.status != 400 ||
		!strings.Contains(string(a.body), "name") {
		t.Errorf("%d %s", a.status, a.body)
	}
	o.info = map[string]any{"sub": "s-1", "email": "ona@office.example"}
	if to := o.comes(p, nil).header.Get("Location"); to != "/#openid=unverified" {
		t.Error(to)
	}
	o.info["email_verified"] = true
	o.info["sub"] = "s-2"
	if to := o.comes(p, nil).header.Get("Location"); to != "/#openid=token" {
		t.Errorf("of another subject: %s", to)
	}
	o.info["sub"] = "s-1"
	p.now = p.now.Add(8 * 24 * time.Hour)
	o.claims["exp"] = p.now.Add(time.Minute).Unix()
	if to := o.comes(p, nil).header.Get("Location"); to != "/#openid=stranger" {
		t.Errorf("late: %s", to)
	}
	p.tokens["administrator"], p.cookies["administrator"] = p.login("administrator", &p.browser)
	p.expect("technician", "ona@office.example")
	if to := o.comes(p, nil).header.Get("Location"); to != "/#openid" {
		t.Error(to)
	}
}

// TestTheProvidersAnswerIsChecked follows OpenID Connect Core 1.0, 3.1.3.7, and RFC 9700.
func TestTheProvidersAnswerIsChecked(t *testing.T) {
	other, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		provider func(*outside, *testPlant)
		way      func(url.Values, *http.Cookie)
		want     string
	}{
		"as it should be": {nil, nil, ""},
		"nonce":           {func(o *outside, _ *testPlant) { o.claims["nonce"] = "another" }, nil, "token"},
		"no nonce":        {func(o *outside, _ *testPlant) { o.claims["nonce"] = "" }, nil, "token"},
		"audience":        {func(o *outside, _ *testPlant) { o.claims["aud"] = "another-client" }, nil, "token"},
		"two audiences":   {func(o *outside, _ *testPlant) { o.claims["aud"] = []string{clientID, "another"} }, nil, "token"},
		"authorized for another": {
			func(o *outside, _ *testPlant) {
				o.claims["aud"], o.claims["azp"] = []string{clientID, "another"}, "another"
			}, nil, "token",
		},
		"issuer": {func(o *outside, _ *testPlant) { o.claims["iss"] = "https://provider.evil.test" }, nil, "token"},
		"expired": {
			func(o *outside, p *testPlant) { o.claims["exp"] = p.now.Add(-time.Minute).Unix() }, nil, "token",
		},
		"another key": {func(o *outside, _ *testPlant) { o.with = other }, nil, "token"},
		"no subject":  {func(o *outside, _ *testPlant) { o.claims["sub"] = "" }, nil, "token"},
		"no ID token": {func(o *outside, _ *testPlant) { o.none = true }, nil, "token"},
		"PKCE":        {func(o *outside, _ *testPlant) { o.asked.Set("code_challenge", "another") }, nil, "declined"},
		"state":       {nil, func(v url.Values, _ *http.Cookie) { v.Set("state", "another") }, "spent"},
		"no state":    {nil, func(v url.Values, _ *http.Cookie) { v.Del("state") }, "spent"},
		"another browser": {
			nil, func(_ url.Values, c *http.Cookie) { c.Value = "" }, "spent",
		},
		"a cookie of one's own making": {
			nil, func(_ url.Values, c *http.Cookie) { c.Value = "e30." + strings.Split(c.Value, ".")[1] }, "spent",
		},
		"another provider's answer": {
			nil, func(v url.Values, _ *http.Cookie) { v.Set("iss", "https://provider.evil.test") }, "spent",
		},
		"the person said no": {
			nil, func(v url.Values, _ *http.Cookie) { v.Set("error", "access_denied") }, "declined",
		},
		"another code": {nil, func(v url.Values, _ *http.Cookie) { v.Set("code", "another") }, "declined"},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPlant(t)
			o := newOutside(t, p.clock)
			withOutside(t, p, o, "preferred_username")
			p.expect("technician", "ona@office.example")
			way := func(v url.Values, c *http.Cookie) {
				if tt.provider != nil {
					tt.provider(o, p)
				}
				if tt.way != nil {
					tt.way(v, c)
				}
			}
			a := o.comes(p, way)
			want := "/#openid"
			if tt.want != "" {
				want += "=" + tt.want
			}
			if to := a.header.Get("Location"); to != want || (a.cookie != nil) != (tt.want == "") {
				t.Errorf("%s, wanted %s", to, want)
			}
			if got := p.eventsOf("")[0]; tt.want != "" &&
				(got.Kind != "login_refused" || !strings.HasPrefix(got.Detail, "provider: ")) {
				t.Errorf("%+v", got)
			}
		})
	}
}

// TestALogInByTheProviderIsBegunInTime checks that the browser's cookie is valid for ten minutes,
// and that an unreachable provider is reported.
func TestALogInByTheProviderIsBegunInTime(t *testing.T) {
	p := newPlant(t)
	o := newOutside(t, p.clock)
	withOutside(t, p, o, "preferred_username")
	p.expect("technician", "ona@office.example")
	late := func(url.Values, *http.Cookie) { p.now = p.now.Add(openid.Life + time.Second) }
	if to := o.comes(p, late).header.Get("Location"); to != "/#openid=spent" {
		t.Error(to)
	}
	away := &outside{t: t, url: "http://127.0.0.1:1"}
	withOutside(t, p, away, "preferred_username")
	if a := p.do("", "GET", "/api/openid/begin", ""); a.header.Get("Location") != "/#openid=reach" {
		t.Errorf("%d %v", a.status, a.header)
	}
	p.handler = p.open()
	for _, path := range []string{"/api/openid/begin", "/api/openid/back"} {
		if a := p.do("", "GET", path, ""); a.header.Get("Location") != "/#openid=off" {
			t.Errorf("%d %v", a.status, a.header)
		}
	}
}

// TestTheProviderAndTheSecondFactor checks that the provider's word alone does not open an account
// with a second factor here. Where a second factor is required, the office stays closed to such a
// log-in unless the provider asks for one.
func TestTheProviderAndTheSecondFactor(t *testing.T) {
	p := withPasskeys(t)
	o := newOutside(t, p.clock)
	withOutside(t, p, o, "preferred_username")
	p.expect("reviewer", "ona@office.example")
	day := func() int {
		t.Helper()
		a := o.comes(p, nil)
		if a.cookie == nil {
			t.Fatal(a.header.Get("Location"))
		}
		r := httptest.NewRequest("POST", "/api/refresh", nil)
		r.AddCookie(a.cookie)
		w := httptest.NewRecorder()
		p.handler.ServeHTTP(w, r)
		var in struct{ Access string }
		if err := json.Unmarshal(w.Body.Bytes(), &in); err != nil {
			t.Fatal(err)
		}
		return p.do(in.Access, "GET", "/api/office/day", "").status
	}
	required := func(d *api.Deps) { d.RequireSecond = true }
	asks := func(d *api.Deps) { d.OpenIDSecond = true }
	if got := day(); got != 200 {
		t.Errorf("%d", got)
	}
	withOutside(t, p, o, "preferred_username", required)
	if got := day(); got != 403 {
		t.Errorf("required, and the provider asks for none: %d", got)
	}
	withOutside(t, p, o, "preferred_username", required, asks)
	if got := day(); got != 200 {
		t.Errorf("required, and the provider asks for one: %d", got)
	}
	p.tokens["reviewer"], p.cookies["reviewer"] = p.login("reviewer", &p.browser)
	if a := p.adds("reviewer", "a token", newAuthenticator(t)); a.status != 200 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if got := day(); got != 200 {
		t.Errorf("with a passkey, and the provider asks for a second factor: %d", got)
	}
	withOutside(t, p, o, "preferred_username")
	if to := o.comes(p, nil).header.Get("Location"); to != "/#openid=second" {
		t.Error(to)
	}
}
