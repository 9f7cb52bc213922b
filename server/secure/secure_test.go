package secure_test

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"image/png"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/server/secure"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

func authority(t *testing.T, dir string, now *time.Time) *secure.Authority {
	t.Helper()
	a, err := secure.OpenAuthority(dir, func() time.Time { return *now })
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestPhoneThatTrustsTheRootGetsIn speaks TLS with a client that trusts only the root, by name and
// by address.
func TestPhoneThatTrustsTheRootGetsIn(t *testing.T) {
	now := time.Now()
	a := authority(t, t.TempDir(), &now)
	cert, err := a.Server([]string{"plant.local", "127.0.0.1", "::1"})
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if _, err := io.WriteString(w, "in"); err != nil {
			t.Error(err)
		}
	}))
	s.TLS = &tls.Config{Certificates: []tls.Certificate{cert}}
	s.StartTLS()
	defer s.Close()
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(a.Root()) {
		t.Fatal("the root is not a certificate")
	}
	for name, want := range map[string]bool{"plant.local": true, "127.0.0.1": true, "elsewhere.local": false} {
		client := &http.Client{
			Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots, ServerName: name}},
		}
		res, err := client.Get(s.URL)
		if (err == nil) != want {
			t.Errorf("%s: %v", name, err)
		}
		if err == nil {
			if err := res.Body.Close(); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestKeptUntilItMustBeRenewed(t *testing.T) {
	dir, now := t.TempDir(), time.Now()
	serial := func(names ...string) string {
		t.Helper()
		cert, err := authority(t, dir, &now).Server(names)
		if err != nil {
			t.Fatal(err)
		}
		leaf, err := x509.ParseCertificate(cert.Certificate[0])
		if err != nil {
			t.Fatal(err)
		}
		return leaf.SerialNumber.String()
	}
	root := authority(t, dir, &now).Fingerprint()
	first := serial("a.local", "10.0.0.1")
	if serial("a.local") != first {
		t.Error("made again without need")
	}
	second := serial("a.local", "b.local")
	if second == first {
		t.Error("a new name is not covered")
	}
	now = now.Add(370 * 24 * time.Hour)
	if serial("a.local", "b.local") == second {
		t.Error("not renewed with 27 days left")
	}
	if authority(t, dir, &now).Fingerprint() != root {
		t.Error("another root: every phone would have to trust it again")
	}
	info, err := os.Stat(filepath.Join(dir, "root.key"))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the root's key: %v, %v", info, err)
	}
}

func TestDamagedAuthorityIsNotReplaced(t *testing.T) {
	dir, now := t.TempDir(), time.Now()
	authority(t, dir, &now)
	if err := os.WriteFile(filepath.Join(dir, "root.key"), []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := secure.OpenAuthority(dir, time.Now); err == nil {
		t.Error("a damaged root was silently replaced")
	}
}

func TestTrustPage(t *testing.T) {
	now := time.Now()
	a := authority(t, t.TempDir(), &now)
	h := secure.Trust(a, "8443")
	get := func(path string) *http.Response {
		r := httptest.NewRequest("GET", path, nil)
		r.Host = "plant.local:8080"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Result()
	}
	body, err := io.ReadAll(get("/instrument/x").Body)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"https://plant.local:8443/", a.Fingerprint(), "Android", "iPhone", "/trust/root.crt"} {
		if !strings.Contains(string(body), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	root, err := io.ReadAll(get("/trust/root.crt").Body)
	if err != nil || !bytes.Equal(root, a.Root()) {
		t.Errorf("root: %v", err)
	}
	img, err := png.Decode(get("/trust/qr.png").Body)
	if err != nil {
		t.Fatal(err)
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	code, err := qrcode.NewQRCodeReader().Decode(bmp, nil)
	if err != nil || code.GetText() != "http://plant.local:8080/trust" {
		t.Errorf("QR: %v, %v", code, err)
	}
}

func TestNames(t *testing.T) {
	names, err := secure.Names()
	if err != nil || len(names) == 0 {
		t.Errorf("%v, %v", names, err)
	}
}
