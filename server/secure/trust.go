package secure

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"html/template"
	"net/http"

	"github.com/skip2/go-qrcode"
)

const style = `body{font:1.1rem/1.5 system-ui,sans-serif;max-width:40rem;margin:1rem auto;padding:0 1rem;color:#111;background:#fff}
h1{font-size:1.4rem}a{color:#123c8c}img{display:block;margin:1rem 0}code{overflow-wrap:anywhere}
@media(prefers-color-scheme:dark){body{color:#f2f2f2;background:#101214}a{color:#a9c7ff}img{background:#fff;padding:8px}}`

var page = template.Must(template.New("trust").Parse(`<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">
<title>Trust this plant's server</title><style>` + style + `</style>
<h1>Why this page, and not the work?</h1>
<p>You came by plain HTTP. A browser gives a page neither camera nor lasting storage that way, and a password would travel openly. The work
is at <a href="{{.Secure}}">{{.Secure}}</a>, once this phone trusts the plant's own certificate authority. That is done once for each phone.</p>
<p><a href="/trust/root.crt">Get the root certificate</a>, or scan this with the other phone:</p>
<img src="/trust/qr.png" width="240" height="240" alt="QR code of the address of this page">
<p>Compare the fingerprint with the one the server printed when it started. If they differ, stop and call the office:</p>
<p><code>{{.Fingerprint}}</code></p>
<h2>Android</h2>
<ol><li>Open the root certificate; the phone keeps it as a file.</li>
<li>In Settings search for “CA certificate”, choose to install one, accept the warning and pick that file.</li>
<li>Open <a href="{{.Secure}}">{{.Secure}}</a>.</li></ol>
<h2>iPhone and iPad</h2>
<ol><li>Open this page in Safari and the root certificate on it; allow the profile to be loaded.</li>
<li>In Settings open the loaded profile and install it.</li>
<li>In Settings, General, About, Certificate Trust Settings turn full trust on for it.</li>
<li>Open <a href="{{.Secure}}">{{.Secure}}</a> and add it to the Home Screen before the first job.</li></ol>
<p>Menus differ a little between phones and versions.</p>
</html>
`))

// Trust serves, over plain HTTP, the page that explains why and what to do, the root certificate
// and a QR code of the page.
//
// Takes:   the authority; the port of the secure server, for links to it on the host in the
// request.
func Trust(a *Authority, securePort string) http.Handler {
	sum := sha256.Sum256([]byte(style))
	policy := "default-src 'none'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	mux := http.NewServeMux()
	mux.HandleFunc("GET /trust/root.crt", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/x-x509-ca-cert")
		w.Header().Set("Content-Disposition", `attachment; filename="gaugewright-root.crt"`)
		send(w, a.Root())
	})
	mux.HandleFunc("GET /trust/qr.png", func(w http.ResponseWriter, r *http.Request) {
		png, err := qrcode.Encode("http://"+r.Host+"/trust", qrcode.Medium, 480)
		if err != nil {
			http.Error(w, "this address does not fit a QR code", http.StatusBadRequest)
			return
		}
		w.Header().Set("Content-Type", "image/png")
		send(w, png)
	})
	mux.HandleFunc("GET /", func(w http.ResponseWriter, r *http.Request) {
		var b bytes.Buffer
		if err := page.Execute(&b, map[string]string{"Secure": "https://" + secureHost(r.Host, securePort) + "/", "Fingerprint": a.Fingerprint()}); err != nil {
			http.Error(w, "the page cannot be made", http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Content-Security-Policy", policy)
		w.Header().Set("X-Content-Type-Options", "nosniff")
		w.Header().Set("Referrer-Policy", "no-referrer")
		send(w, b.Bytes())
	})
	return mux
}

func send(w http.ResponseWriter, b []byte) {
	if _, err := w.Write(b); err != nil {
		return // the reader has gone
	}
}
