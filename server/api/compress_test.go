package api_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"io"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/andybalholm/brotli"
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

// TestHeldIsPackedTightly checks that what a phone is to hold comes in brotli to a client that
// accepts it, much smaller than in gzip, and says the same in either.
func TestHeldIsPackedTightly(t *testing.T) {
	p := newPlant(t)
	p.put("n1", "instrument", "", field{"tag", "PI-1"})
	for v := range 20 {
		p.put(fmt.Sprint("v", v), "visit", "n1", field{"started", p.now.Format(time.RFC3339)})
		var readings []field
		for n := range 200 {
			readings = append(readings, field{fmt.Sprintf("capture.%03d", n), fmt.Sprintf("%x", sha256.Sum256([]byte{byte(n)}))})
		}
		p.put(fmt.Sprint("r", v), "run", fmt.Sprint("v", v), readings...)
	}
	ask := func(accept string) answer {
		r := httptest.NewRequest("POST", "/api/hold", strings.NewReader(`{"part":"units","units":["n1"]}`))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Authorization", "Bearer "+p.tokens["technician"])
		r.Header.Set("Accept-Encoding", accept)
		return p.send(r)
	}
	tight, loose, plain := ask("gzip, deflate, br"), ask("gzip, br;q=0"), ask("")
	if tight.header.Get("Content-Encoding") != "br" || tight.header.Get("Vary") == "" || loose.header.Get("Content-Encoding") != "gzip" {
		t.Fatalf("%v, %v", tight.header, loose.header)
	}
	if len(tight.body) > len(loose.body)/2 {
		t.Errorf("%d bytes in brotli, %d in gzip, %d plain", len(tight.body), len(loose.body), len(plain.body))
	}
	b, err := io.ReadAll(brotli.NewReader(bytes.NewReader(tight.body)))
	if err != nil || !bytes.Equal(b, plain.body) {
		t.Errorf("%d of %d bytes, %v", len(b), len(plain.body), err)
	}
}
