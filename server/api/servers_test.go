//go:build unix

package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/postgres"
	"gaugewright/sync/postgres/pgtest"
	"gaugewright/sync/store"
)

// oneServer is one of several servers of a plant in a database.
type oneServer struct {
	*httptest.Server
	store  *store.Store
	keeper *auth.Keeper
}

func serverOn(t *testing.T, address, folder string) *oneServer {
	t.Helper()
	db, err := postgres.Open(context.Background(), address, postgres.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := store.OpenOn(db, folder, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	keeper, err := auth.New(s, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	stopping := make(chan struct{})
	h := httptest.NewServer(api.New(
		api.Deps{Store: s, Keeper: keeper, Now: time.Now, Client: fstest.MapFS{}, Stopping: stopping},
	))
	t.Cleanup(func() {
		close(stopping)
		h.CloseClientConnections()
		h.Close()
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return &oneServer{h, s, keeper}
}

// ask sends a request and reads the reply as JSON.
func (o *oneServer) ask(t *testing.T, token, method, path, body string, into any) int {
	t.Helper()
	r, err := http.NewRequest(method, o.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	a, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil {
		t.Fatal(err)
	}
	if into != nil && a.StatusCode < 300 {
		if err := json.Unmarshal(b, into); err != nil {
			t.Fatalf("%s: %v", b, err)
		}
	}
	return a.StatusCode
}

// TestTwoServersOfOnePlant checks that a log-in at one server is valid at the other, that what is
// pushed to one is read and announced at the other within a second, and that an account ended at
// one is out at both. A device that alternates between them is not taken for two.
func TestTwoServersOfOnePlant(t *testing.T) {
	pg := pgtest.Start(t)
	address, folder := pg.Plant(), t.TempDir()
	a := serverOn(t, address, folder)
	if _, err := a.keeper.Add(id("administrator"), "administrator", auth.Administrator, secret); err != nil {
		t.Fatal(err)
	}
	b := serverOn(t, address, folder)
	if _, err := b.keeper.Add(id("technician"), "technician", auth.Technician, secret); err != nil {
		t.Fatal(err)
	}
	if _, err := a.keeper.Add(id("other"), "technician", auth.Technician, secret); err == nil {
		t.Error("one name has two accounts")
	}
	var login struct{ Access string }
	in := fmt.Sprintf(`{"name":"technician","password":%q}`, secret)
	if status := a.ask(t, "", "POST", "/api/login", in, &login); status != 200 {
		t.Fatal(status)
	}
	token := login.Access
	p := &testPlant{t: t, tokens: map[string]string{"technician": token}}
	news := listen(t, p, b.URL, "technician")
	last := ""
	push := func(to *oneServer, c change.Change) {
		t.Helper()
		var reply struct {
			Acknowledged []string
			Quarantined  []any
			Nonce        string
			Twin         bool
		}
		nonce := fmt.Sprintf("%032x", c.Seq)
		body := fmt.Sprintf(
			`{"store":"","cursor":0,"nonce":%q,"last":%q,"device":"d1","limit":1,"changes":[%s]}`, nonce, last, c.Bytes(),
		)
		if status := to.ask(t, token, "POST", "/api/sync", body, &reply); status != 200 || len(reply.Acknowledged) != 1 ||
			len(reply.Quarantined) != 0 || reply.Twin {
			t.Fatalf("%d %+v", status, reply)
		}
		last = nonce
	}
	one := func(n uint64, ident, record string) change.Change {
		c := newsChange(ident, record, "visit", "", "", n)
		c.Author = id("technician")
		return c
	}
	for n := uint64(1); n <= 6; n++ {
		to, other := a, b
		if n%2 == 0 {
			to, other = b, a
		}
		began := time.Now()
		push(to, one(n, fmt.Sprintf("n%d", n), fmt.Sprintf("v%d", n)))
		heard, _ := next(t, news)
		if took := time.Since(began); heard.Seq != n || took > time.Second {
			t.Errorf("heard of %d after %v: %+v", n, took, heard)
		}
		if s, ok, err := other.store.Record(fmt.Sprintf("v%d", n)); err != nil || !ok || s.Kind != "visit" {
			t.Errorf("the other server has %+v %v %v", s, ok, err)
		}
	}
	if err := a.keeper.Revoke(id("technician")); err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*oneServer{"first": a, "second": b} {
		if status := s.ask(t, token, "GET", "/api/account", "", nil); status < 400 {
			t.Errorf("the %s server lets in who was revoked: %d", name, status)
		}
	}
	r, err := b.store.CheckIt()
	if err != nil || len(r.Damage) > 0 || r.Changes != 6 {
		t.Error(err, r)
	}
}
