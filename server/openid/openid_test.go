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

	"github.com/zitadel/oidc/v3/example/server/exampleop"
	"github.com/zitadel/oidc/v3/example/server/storage"
)

const back = "http://localhost:9/api/openid/back"

// provider starts a provider that was written by others, with one client; it gives who its person
// is.
func provider(t *testing.T) (*httptest.Server, *storage.User) {
	t.Helper()
	s := httptest.NewUnstartedServer(nil)
	s.Start()
	t.Cleanup(s.Close)
	users := storage.NewUserStore(s.URL)
	clients := map[string]*storage.Client{"office": storage.WebClient("office", "the-secret", back)}
	quiet := slog.New(slog.NewTextHandler(io.Discard, nil))
	was := slog.Default()
	t.Cleanup(func() { slog.SetDefault(was) })
	s.Config.Handler = exampleop.SetupServer(s.URL, storage.NewStorageWithClients(users, clients), quiet, false)
	return s, users.GetUserByID("id1")
}

// TestAProviderOfOthers: the whole way through a provider that knows nothing of this server but its
// client id and where it comes back to.
func TestAProviderOfOthers(t *testing.T) {
	s, person := provider(t)
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

// hidden finds what the provider's page of its log-in carries along.
var hidden = regexp.MustCompile(`name="id" value="([^"]+)"`)

// logsIn fills in the provider's page, and returns what it sends the browser back with.
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
