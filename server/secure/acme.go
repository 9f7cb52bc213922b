package secure

import (
	"cmp"
	"crypto/tls"
	"net"
	"net/http"
	"strings"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// ACME gets the certificate for one host from a directory by RFC 8555, keeps it in a folder and
// renews it.
type ACME struct {
	host    string
	manager *autocert.Manager
}

// NewACME contacts nobody yet: it fetches a certificate when the first browser connects.
//
// Takes:   the folder for the account's key and the certificate; the host, the only name in the
// certificate; the address of the directory, "" for a public one; the client for the directory, nil
// for the usual one.
func NewACME(dir, host, directory string, client *http.Client) *ACME {
	return &ACME{host: host, manager: &autocert.Manager{
		Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(dir), HostPolicy: autocert.HostWhitelist(host),
		Client: &acme.Client{DirectoryURL: cmp.Or(directory, autocert.DefaultACMEDirectory), HTTPClient: client},
	}}
}

// TLS returns what a server needs to present the certificate and to answer the directory's
// TLS-ALPN-01 challenge.
func (a *ACME) TLS() *tls.Config {
	c := a.manager.TLSConfig()
	c.MinVersion = tls.VersionTLS12
	return c
}

// Plain answers the directory's HTTP-01 challenge over plain HTTP, and redirects all other requests
// to the secure server.
func (a *ACME) Plain(securePort string) http.Handler {
	return a.manager.HTTPHandler(Redirect(a.host, securePort))
}

// Redirect redirects a browser from plain HTTP to the secure server. It refuses everything but GET
// and HEAD: a password sent this way may have been overheard, and a program that sends one has to
// be corrected.
//
// Takes:   the host to redirect to, "" for the one in the request; the port of the secure server.
func Redirect(host, securePort string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-store")
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			http.Error(
				w,
				"this came by plain HTTP, which others can read; use https, and change the password if one was sent",
				http.StatusForbidden,
			)
			return
		}
		target := *r.URL
		target.Scheme, target.Host = "https", secureHost(cmp.Or(host, r.Host), securePort)
		http.Redirect(w, r, target.String(), http.StatusTemporaryRedirect)
	})
}

// secureHost replaces the port of an address.
func secureHost(host, port string) string {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	address := net.JoinHostPort(strings.Trim(host, "[]"), port)
	return strings.TrimSuffix(address, ":443")
}
