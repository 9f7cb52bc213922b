// Package site serves the client embedded in the binary, with its headers.
package site

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
)

// Policy is the content security policy of every page. Nothing is loaded from elsewhere;
// WebAssembly may be compiled.
const Policy = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; " +
	"worker-src 'self'; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; " +
	"require-trusted-types-for 'script'; trusted-types gaugewright"

// Headers sets the headers of every answer; with hsts also that browsers use only TLS for a year.
func Headers(h http.Header, hsts bool) {
	h.Set("Content-Security-Policy", Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=()")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	if hsts {
		h.Set("Strict-Transport-Security", "max-age=31536000")
	}
}

// types are given here, since a machine's own table may lack or change them.
var types = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".html": "text/html; charset=utf-8",
	".wasm": "application/wasm", ".svg": "image/svg+xml", ".png": "image/png", ".webmanifest": "application/manifest+json", ".json": "application/json"}

// Handler serves the files of a built client.
//
// A path without an extension that names no file is a page of the client and gets index.html. Files
// under assets/ have their hash in the name and never change; all others are revalidated each time.
// A file that is stored compressed is sent compressed.
func Handler(files fs.FS) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "only GET here", http.StatusMethodNotAllowed)
			return
		}
		name := strings.TrimPrefix(path.Clean("/"+r.URL.Path), "/")
		switch {
		case name == "verify": // needs no log-in and shares nothing with the client
			name = "verify.html"
		case name == "" || path.Ext(name) == "":
			name = "index.html"
		case path.Ext(name) == ".br" || path.Ext(name) == ".gz": // the compressed form of another file
			http.NotFound(w, r)
			return
		}
		b, err := fs.ReadFile(files, name)
		switch {
		case errors.Is(err, fs.ErrNotExist) && name == "index.html":
			http.Error(w, "the client is not built; run: make client", http.StatusServiceUnavailable)
			return
		case err != nil:
			http.NotFound(w, r)
			return
		}
		kind := types[path.Ext(name)]
		if kind == "" {
			kind = mime.TypeByExtension(path.Ext(name))
		}
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Vary", "Accept-Encoding")
		if strings.HasPrefix(name, "assets/") {
			h.Set("Cache-Control", "public, max-age=31536000, immutable")
		} else {
			h.Set("Cache-Control", "no-cache")
		}
		tag := ""
		for _, c := range []struct{ coding, ending string }{{"br", ".br"}, {"gzip", ".gz"}} {
			if !Accepts(r.Header.Get("Accept-Encoding"), c.coding) {
				continue
			}
			if small, err := fs.ReadFile(files, name+c.ending); err == nil {
				h.Set("Content-Encoding", c.coding)
				b, tag = small, "-"+c.coding
				break
			}
		}
		sum := sha256.Sum256(b)
		tag = `"` + hex.EncodeToString(sum[:8]) + tag + `"` // each coding has its own tag (RFC 9110, 8.8.3.3)
		h.Set("ETag", tag)
		if matches(r.Header.Get("If-None-Match"), tag) {
			h.Del("Content-Type")
			h.Del("Content-Encoding")
			w.WriteHeader(http.StatusNotModified)
			return
		}
		h.Set("Content-Length", strconv.Itoa(len(b)))
		if r.Method == http.MethodHead {
			return
		}
		if _, err := w.Write(b); err != nil {
			return // the reader has gone
		}
	})
}

// Accepts reports whether an Accept-Encoding names a coding without q=0.
func Accepts(header, coding string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, weight, _ := strings.Cut(part, ";")
		if !strings.EqualFold(strings.TrimSpace(name), coding) {
			continue
		}
		q, found := strings.CutPrefix(strings.ToLower(strings.ReplaceAll(weight, " ", "")), "q=")
		n, err := strconv.ParseFloat(q, 64)
		return !found || err == nil && n > 0
	}
	return false
}

// matches reports whether an If-None-Match names a tag, which a cache in between may have made
// weak.
func matches(header, tag string) bool {
	for part := range strings.SplitSeq(header, ",") {
		if part = strings.TrimSpace(part); part == "*" || strings.TrimPrefix(part, "W/") == tag {
			return true
		}
	}
	return false
}
