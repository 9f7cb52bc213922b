package site_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"

	"gaugewright/server/site"
)

var files = fstest.MapFS{
	"index.html":           {Data: []byte("<!doctype html>page")},
	"sw.js":                {Data: []byte("worker")},
	"calc.wasm":            {Data: []byte("wasm, as it is")},
	"calc.wasm.br":         {Data: []byte("br")},
	"calc.wasm.gz":         {Data: []byte("gz")},
	"assets/main-AB.js":    {Data: []byte("code")},
	"assets/main-AB.js.gz": {Data: []byte("gz code")},
	"manifest.webmanifest": {Data: []byte("{}")},
}

func ask(method, path, encoding, tag string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, nil)
	r.Header.Set("Accept-Encoding", encoding)
	r.Header.Set("If-None-Match", tag)
	w := httptest.NewRecorder()
	site.Handler(files).ServeHTTP(w, r)
	return w
}

func TestFiles(t *testing.T) {
	const never, always = "no-cache", "public, max-age=31536000, immutable"
	for _, tt := range []struct {
		method, path, encoding string
		status                 int
		body, coding, kind     string
		cache                  string
	}{
		{"GET", "/", "", 200, "<!doctype html>page", "", "text/html; charset=utf-8", never},
		{"GET", "/t/abc", "", 200, "<!doctype html>page", "", "text/html; charset=utf-8", never},
		{"GET", "/instrument/..%2f..", "", 200, "<!doctype html>page", "", "text/html; charset=utf-8", never},
		{"GET", "/sw.js", "br, gzip", 200, "worker", "", "text/javascript; charset=utf-8", never},
		{"GET", "/manifest.webmanifest", "", 200, "{}", "", "application/manifest+json", never},
		{"GET", "/calc.wasm", "", 200, "wasm, as it is", "", "application/wasm", never},
		{"GET", "/calc.wasm", "gzip, deflate, br", 200, "br", "br", "application/wasm", never},
		{"GET", "/calc.wasm", "gzip;q=0.5, br;q=0", 200, "gz", "gzip", "application/wasm", never},
		{"GET", "/calc.wasm", "abr, gzipped, identity", 200, "wasm, as it is", "", "application/wasm", never},
		{
			"GET", "/assets/main-AB.js", "br, GZIP; q=1", 200, "gz code", "gzip", "text/javascript; charset=utf-8",
			always,
		},
		{"HEAD", "/assets/main-AB.js", "", 200, "", "", "text/javascript; charset=utf-8", always},
		{"GET", "/assets/gone.js", "", 404, "404 page not found\n", "", "text/plain; charset=utf-8", ""},
		{"GET", "/calc.wasm.br", "br", 404, "404 page not found\n", "", "text/plain; charset=utf-8", ""},
		{"GET", "/../../etc/passwd.txt", "", 404, "404 page not found\n", "", "text/plain; charset=utf-8", ""},
		{"POST", "/", "", 405, "only GET here\n", "", "text/plain; charset=utf-8", ""},
	} {
		w := ask(tt.method, tt.path, tt.encoding, "")
		h := w.Header()
		if w.Code != tt.status || w.Body.String() != tt.body || h.Get("Content-Encoding") != tt.coding ||
			h.Get("Content-Type") != tt.kind || h.Get("Cache-Control") != tt.cache {
			t.Errorf("%s %s (%s): %d %q %v", tt.method, tt.path, tt.encoding, w.Code, w.Body, h)
		}
		if tt.status == 200 && h.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s: a cache would mix the codings: %v", tt.path, h)
		}
	}
	if got := ask("HEAD", "/calc.wasm", "", "").Header().Get("Content-Length"); got != "14" {
		t.Errorf("HEAD says %q bytes", got)
	}
}

// TestTags checks that each coding has its own tag, which saves sending it again, also in a list
// and as a weak tag; that of another coding does not.
func TestTags(t *testing.T) {
	seen := map[string]bool{}
	for _, coding := range []string{"", "br", "gzip"} {
		tag := ask("GET", "/calc.wasm", coding, "").Header().Get("ETag")
		if !strings.HasPrefix(tag, `"`) || seen[tag] {
			t.Errorf("%q: tag %s", coding, tag)
		}
		for header, want := range map[string]int{tag: 304, `"x", W/` + tag: 304, "*": 304, `"x"`: 200, strings.Trim(tag, `"`): 200} {
			w := ask("GET", "/calc.wasm", coding, header)
			if w.Code != want || want == 304 && (w.Body.Len() != 0 || w.Header().Get("ETag") != tag) {
				t.Errorf("%q, If-None-Match %s: %d, want %d: %v", coding, header, w.Code, want, w.Header())
			}
		}
		for other := range seen {
			if w := ask("GET", "/calc.wasm", coding, other); w.Code != 200 {
				t.Errorf("%q: not sent for the tag of another coding: %d", coding, w.Code)
			}
		}
		seen[tag] = true
	}
}

func TestNotBuilt(t *testing.T) {
	w := httptest.NewRecorder()
	site.Handler(fstest.MapFS{}).ServeHTTP(w, httptest.NewRequest("GET", "/", nil))
	if w.Code != 503 || !strings.Contains(w.Body.String(), "not built") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

func TestHeaders(t *testing.T) {
	for _, hsts := range []bool{false, true} {
		h := http.Header{}
		site.Headers(h, hsts)
		if (h.Get("Strict-Transport-Security") != "") != hsts {
			t.Errorf("hsts %v: %v", hsts, h)
		}
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'none'", "require-trusted-types-for 'script'", "trusted-types gaugewright"} {
			if !strings.Contains(csp, want) {
				t.Errorf("the policy lacks %s", want)
			}
		}
		if strings.Contains(csp, "'unsafe-inline'") || strings.Contains(csp, "'unsafe-eval'") ||
			strings.Contains(csp, "http") || strings.Contains(csp, "*") {
			t.Errorf("the policy is too wide: %s", csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%v", h)
		}
	}
}
