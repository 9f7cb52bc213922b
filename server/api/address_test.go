package api_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/sync/store"
)

// TestAddressIsNotTheSendersWord guesses passwords for ever new names with ever new forwarding
// headers, always from one address.
func TestAddressIsNotTheSendersWord(t *testing.T) {
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	now := func() time.Time { return time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC) }
	k, err := auth.New(s, now)
	if err != nil {
		t.Fatal(err)
	}
	h := api.New(api.Deps{Store: s, Keeper: k, Client: fstest.MapFS{}, Now: now})
	last := 0
	for i := range 6 {
		r := httptest.NewRequest(
			http.MethodPost, "/api/login",
			strings.NewReader(fmt.Sprintf(`{"name":"n%d","password":"wrong"}`, i)),
		)
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("X-Forwarded-For", fmt.Sprintf("198.51.100.%d", i))
		r.Header.Set("X-Real-IP", fmt.Sprintf("198.51.100.%d", i))
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		last = w.Code
	}
	if last != http.StatusTooManyRequests {
		t.Errorf("the sixth wrong password from one address: want 429, got %d", last)
	}
}
