package secure_test

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"gaugewright/server/secure"
)

const host = "plant.example"

// TestCertificateFromADirectory starts with an empty folder, once for each challenge. The first
// browser gets a certificate signed by the directory, a server restarted on the folder uses the
// stored one, and no other name gets any.
func TestCertificateFromADirectory(t *testing.T) {
	for _, challenge := range []string{"http-01", "tls-alpn-01"} {
		t.Run(challenge, func(t *testing.T) {
			d, dir := newDirectory(t, challenge, host), t.TempDir()
			roots := x509.NewCertPool()
			roots.AddCert(d.root)
			var serials []string
			for range 2 {
				a := secure.NewACME(dir, host, d.URL+"/directory", d.Client())
				plain := httptest.NewServer(a.Plain("443"))
				defer plain.Close()
				s := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
					if _, err := io.WriteString(w, "in"); err != nil {
						t.Error(err)
					}
				}))
				s.TLS = a.TLS()
				s.StartTLS()
				defer s.Close()
				d.reach = plain.Listener.Addr().String()
				if challenge != "http-01" {
					d.reach = s.Listener.Addr().String()
				}
				c, err := tls.Dial("tcp", s.Listener.Addr().String(), &tls.Config{ServerName: host, RootCAs: roots})
				if err != nil {
					t.Fatal(err)
				}
				serials = append(serials, c.ConnectionState().PeerCertificates[0].SerialNumber.String())
				if err := c.Close(); err != nil {
					t.Error(err)
				}
				if c, err := tls.Dial("tcp", s.Listener.Addr().String(), &tls.Config{ServerName: "other.example", InsecureSkipVerify: true}); err == nil {
					t.Error("a certificate for a name that is not ours", c.Close())
				}
				if c, err := tls.Dial("tcp", s.Listener.Addr().String(), &tls.Config{ServerName: host, RootCAs: roots, MaxVersion: tls.VersionTLS11}); err == nil {
					t.Error("TLS 1.1 is spoken", c.Close())
				}
			}
			if d.orders != 1 || serials[0] != serials[1] {
				t.Errorf("%d orders, serials %v: want the certificate kept", d.orders, serials)
			}
		})
	}
}

func TestPlainLeadsToTLS(t *testing.T) {
	a := secure.NewACME(t.TempDir(), host, "https://127.0.0.1:1/nobody", nil)
	for _, tt := range []struct {
		name, method, path, host string
		h                        http.Handler
		status                   int
		to                       string
	}{
		{"ACME", "GET", "/t/abc?x=1", host, a.Plain("443"), 307, "https://plant.example/t/abc?x=1"},
		{"ACME, another port", "GET", "/", host + ":80", a.Plain("8443"), 307, "https://plant.example:8443/"},
		{"ACME, a forged host", "GET", "/", "evil.example", a.Plain("443"), 307, "https://plant.example/"},
		{
			"a path that looks like a host", "GET", "//evil.example/x", host, a.Plain("443"), 307,
			"https://plant.example//evil.example/x",
		},
		{"ACME, a password", "POST", "/api/login", host, a.Plain("443"), 403, ""},
		{
			"certificate from files", "GET", "/t/abc", "10.0.0.7:8080", secure.Redirect("", "8443"), 307,
			"https://10.0.0.7:8443/t/abc",
		},
		{"by IPv6", "GET", "/", "[fd00::7]:8080", secure.Redirect("", "8443"), 307, "https://[fd00::7]:8443/"},
		{"by IPv6 from 80", "GET", "/", "[fd00::7]", secure.Redirect("", "8443"), 307, "https://[fd00::7]:8443/"},
		{"by IPv6 between", "GET", "/", "[fd00::7]:8080", secure.Redirect("", "443"), 307, "https://[fd00::7]/"},
		{"by IPv6 to 443", "GET", "/", "[fd00::7]", secure.Redirect("", "443"), 307, "https://[fd00::7]/"},
	} {
		r := httptest.NewRequest(tt.method, "http://x"+tt.path, strings.NewReader("{}"))
		r.Host = tt.host
		w := httptest.NewRecorder()
		tt.h.ServeHTTP(w, r)
		if w.Code != tt.status || w.Header().Get("Location") != tt.to ||
			w.Header().Get("Strict-Transport-Security") != "" {
			t.Errorf("%s: %d to %q, want %d to %q", tt.name, w.Code, w.Header().Get("Location"), tt.status, tt.to)
		}
	}
}
