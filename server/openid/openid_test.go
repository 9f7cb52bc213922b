package openid_test

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"testing"
	"time"

	"gaugewright/server/openid"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
	"github.com/zitadel/oidc/v3/example/server/exampleop"
	"github.com/zitadel/oidc/v3/example/server/storage"
	"github.com/zitadel/oidc/v3/pkg/oidc"
)

const back = "http://localhost:9/api/openid/back"

// provider starts an independent provider with one client; it returns its person and its storage.
func provider(t *testing.T) (*httptest.Server, *storage.User, *storage.Storage) {
	t.Helper()
	s := httptest.NewUnstartedServer(nil)
	s.Start()
	t.Cleanup(s.Close)
	users := storage.NewUserStore(s.URL)
	clients := map[string]*storage.Client{"office": storage.WebClient("office", "the-secret", back)}
	quiet := slog.New(slog.NewTextHandler(io.Discard, nil))
	was := slog.Default()
	t.Cleanup(func() { slog.SetDefault(was) })
	kept := storage.NewStorageWithClients(users, clients)
	s.Config.Handler = exampleop.SetupServer(s.URL, kept, quiet, false)
	return s, users.GetUserByID("id1"), kept
}

// TestAProviderOfOthers logs in at an independent provider that knows only this server's client id
// and return address.
func TestAProviderOfOthers(t *testing.T) {
	s, person, _ := provider(t)
	p, err := openid.New(openid.Config{
		Issuer: s.URL, Client: "office", Secret: "the-secret", Claim: "preferred_username", Back: back, Now: time.Now,
	})
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	address, keep, err := p.Begin(ctx)
	if err != nil {
		t.Fatal(err)
	}
	answer := logsIn(t, address, person)
	got, err := p.Finish(ctx, keep, answer)
	if err != nil {
		t.Fatal(err)
	}
	want := openid.Person{Issuer: s.URL, Subject: person.ID, Name: person.Username}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if _, err := p.Finish(ctx, keep, answer); !errors.Is(err, openid.ErrDeclined) {
		t.Errorf("the same code again: %v", err)
	}
	if _, other, err := p.Begin(ctx); err != nil {
		t.Error(err)
	} else if _, err := p.Finish(ctx, other, answer); !errors.Is(err, openid.ErrSpent) {
		t.Errorf("in another browser: %v", err)
	}
}

// TestALogOutOfOthers reads log-outs written and signed by an independent provider, and refuses
// what is not one.
func TestALogOutOfOthers(t *testing.T) {
	s, person, kept := provider(t)
	p, err := openid.New(openid.Config{
		Issuer: s.URL, Client: "office", Secret: "the-secret", Claim: "preferred_username", Back: back, Now: time.Now,
	})
	if err != nil {
		t.Fatal(err)
	}
	key, err := kept.SigningKey(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	kind := jose.ContentType("logout+jwt")
	says := func(claims *oidc.LogoutTokenClaims) (openid.Ended, error) {
		t.Helper()
		options := (&jose.SignerOptions{}).WithHeader("kid", key.ID()).WithType(kind)
		signer, err := jose.NewSigner(jose.SigningKey{Algorithm: key.SignatureAlgorithm(), Key: key.Key()}, options)
		if err != nil {
			t.Fatal(err)
		}
		text, err := jwt.Signed(signer).Claims(claims).Serialize()
		if err != nil {
			t.Fatal(err)
		}
		return p.Logout(t.Context(), url.Values{"logout_token": {text}})
	}
	made := func(jti string) *oidc.LogoutTokenClaims {
		return oidc.NewLogoutTokenClaims(
			s.URL, person.ID, oidc.Audience{"office"}, time.Now().Add(time.Minute), jti, "session", 0,
		)
	}
	want := openid.Ended{Issuer: s.URL, Subject: person.ID, Session: "session"}
	if got, err := says(made("one")); err != nil || got != want {
		t.Errorf("%+v %v", got, err)
	}
	other := func(jti string, change func(*oidc.LogoutTokenClaims)) *oidc.LogoutTokenClaims {
		c := made(jti)
		change(c)
		return c
	}
	for what, claims := range map[string]*oidc.LogoutTokenClaims{
		"once more":      made("one"),
		"another client": other("two", func(c *oidc.LogoutTokenClaims) { c.Audience = oidc.Audience{"shop"} }),
		"another issuer": other("three", func(c *oidc.LogoutTokenClaims) { c.Issuer = "http://localhost:8" }),
		"no event":       other("four", func(c *oidc.LogoutTokenClaims) { c.Events = nil }),
		"of nobody":      other("five", func(c *oidc.LogoutTokenClaims) { c.Subject, c.SessionID = "", "" }),
		"with a nonce":   other("six", func(c *oidc.LogoutTokenClaims) { c.Claims = map[string]any{"nonce": "n"} }),
		"run out": other("seven", func(c *oidc.LogoutTokenClaims) {
			c.Expiration = oidc.FromTime(time.Now().Add(-time.Hour))
		}),
		"long ago": other("eight", func(c *oidc.LogoutTokenClaims) {
			c.IssuedAt = oidc.FromTime(time.Now().Add(-time.Hour))
		}),
		"no name": other("", func(*oidc.LogoutTokenClaims) {}),
	} {
		if got, err := says(claims); !errors.Is(err, openid.ErrToken) {
			t.Errorf("%s: %+v %v", what, got, err)
		}
	}
	kind = "JWT"
	if got, err := says(made("nine")); err != nil || got != want {
		t.Errorf("of a provider that gives no type: %+v %v", got, err)
	}
	kind = "at+jwt"
	if _, err := says(made("ten")); !errors.Is(err, openid.ErrToken) {
		t.Errorf("an access token: %v", err)
	}
	for what, form := range map[string]url.Values{
		"nothing": {}, "no token": {"logout_token": {"x"}}, "two": {"logout_token": {"x", "y"}},
	} {
		if _, err := p.Logout(t.Context(), form); !errors.Is(err, openid.ErrToken) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// hidden finds the hidden field of the provider's log-in page.
var hidden = regexp.MustCompile(`name="id" value="([^"]+)"`)

// logsIn fills in the provider's page, and returns what the browser returns with.
func logsIn(t *testing.T, address string, person *storage.User) url.Values {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	var returned url.Values
	browser := &http.Client{Jar: jar, CheckRedirect: func(r *http.Request, _ []*http.Request) error {
		if r.URL.Host == "localhost:9" {
			returned = r.URL.Query()
			return http.ErrUseLastResponse
		}
		return nil
	}}
	read := func(res *http.Response, err error) (*http.Response, string) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(res.Body)
		if err := errors.Join(err, res.Body.Close()); err != nil {
			t.Fatal(err)
		}
		return res, string(b)
	}
	res, page := read(browser.Get(address))
	id := hidden.FindStringSubmatch(page)
	if id == nil {
		t.Fatalf("%d %s", res.StatusCode, page)
	}
	res, page = read(browser.PostForm(res.Request.URL.String(), url.Values{
		"id": {id[1]}, "username": {person.Username}, "password": {person.Password},
	}))
	if returned.Get("code") == "" {
		t.Fatalf("%d %s", res.StatusCode, page)
	}
	return returned
}
