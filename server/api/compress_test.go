package api_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestPressedExchange checks that a gzip request is accepted, that an answer is gzip if the client
// accepts it, and that bad gzip, another coding and too much data are refused.
func TestPressedExchange(t *testing.T) {
	p := newPlant(t)
	compressed := func(text string) string {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		if _, err := io.WriteString(z, text); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	ask := func(body, coding, accept string) answer {
		r := httptest.NewRequest("POST", "/api/sync", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+p.tokens["technician"])
		if coding != "" {
			r.Header.Set("Content-Encoding", coding)
		}
		if accept != "" {
			r.Header.Set("Accept-Encoding", accept)
		}
		return p.send(r)
	}
	c := made("c1", id("technician"), "visit", "remark.a")
	c.Set[0].Value = []byte(`"` + strings.Repeat("as read ", 400) + `"`)
	if a := ask(compressed(push(c)), "gzip", ""); a.status != 200 ||
		!bytes.Contains(a.body, []byte(`"acknowledged":["c1"]`)) || a.header.Get("Accept-Encoding") != "gzip" {
		t.Fatalf("%d %.300s %v", a.status, a.body, a.header)
	}
	plain := ask(push(), "", "")
	a := ask(push(), "", "br, gzip")
	z, err := gzip.NewReader(bytes.NewReader(a.body))
	if err != nil || a.header.Get("Content-Encoding") != "gzip" || plain.header.Get("Content-Encoding") != "" {
		t.Fatalf("%v, %v", err, a.header)
	}
	if b, err := io.ReadAll(z); err != nil || len(b) != len(plain.body) || len(a.body) > len(plain.body)/3 {
		t.Errorf("%d of %d bytes, %v; %d in gzip", len(b), len(plain.body), err, len(a.body))
	}
	half := compressed(push(c))
	for _, bad := range []struct {
		body, coding string
		status       int
	}{
		{push(c), "gzip", 400}, {half[:len(half)-9], "gzip", 400}, {push(c), "br", 415},
		{compressed(strings.Repeat(" ", 17<<20)), "gzip", 413},
	} {
		if a := ask(bad.body, bad.coding, ""); a.status != bad.status {
			t.Errorf("%s: %d, not %d: %.200s", bad.coding, a.status, bad.status, a.body)
		}
	}
}
