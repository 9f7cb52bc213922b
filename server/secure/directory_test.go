package secure_test

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"
)

// directory is a certificate authority by RFC 8555, for one account and one order at a time. It
// checks signatures and nonces (6.2 to 6.5), and connects to the server under test to check its
// answer to the challenge (8.3; RFC 8737).
type directory struct {
	*httptest.Server
	t         *testing.T
	challenge string // the kind offered
	reach     string // the address of the host
	host      string
	mu        sync.Mutex
	nonces    map[string]bool
	account   *ecdsa.PublicKey
	root      *x509.Certificate
	key       *ecdsa.PrivateKey
	state     string // of the authorization
	order     string // state of the order
	issued    []byte
	orders    int
}

func newDirectory(t *testing.T, challenge, host string) *directory {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "test root"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	root, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	d := &directory{t: t, challenge: challenge, host: host, nonces: map[string]bool{}, root: root, key: key}
	d.Server = httptest.NewTLSServer(d)
	t.Cleanup(d.Close)
	return d
}

const token = "token-of-the-challenge-0123456789abcdefgh"

func (d *directory) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	d.mu.Lock()
	defer d.mu.Unlock()
	nonce := rand.Text()
	d.nonces[nonce] = true
	w.Header().Set("Replay-Nonce", nonce)
	switch r.URL.Path {
	case "/directory":
		d.reply(
			w, 200,
			map[string]string{
				"newNonce": d.URL + "/nonce", "newAccount": d.URL + "/account", "newOrder": d.URL + "/new",
				"revokeCert": d.URL + "/none", "keyChange": d.URL + "/none",
			},
		)
		return
	case "/nonce":
		return
	}
	payload, err := d.opened(r)
	if err != nil {
		d.t.Errorf("%s: %v", r.URL.Path, err)
		d.reply(w, 400, map[string]string{"type": "urn:ietf:params:acme:error:malformed", "detail": err.Error()})
		return
	}
	switch r.URL.Path {
	case "/account":
		w.Header().Set("Location", d.URL+"/account/1")
		d.reply(w, 201, map[string]string{"status": "valid"})
	case "/new":
		d.state, d.order = "pending", "pending"
		d.orders++
		w.Header().Set("Location", d.URL+"/order")
		d.reply(w, 201, d.orderNow())
	case "/order":
		d.reply(w, 200, d.orderNow())
	case "/authz":
		d.reply(
			w, 200,
			map[string]any{
				"status": d.state, "identifier": map[string]string{"type": "dns", "value": d.host},
				"challenges": []any{d.challengeNow()},
			},
		)
	case "/challenge":
		d.state = "invalid"
		if err := d.visit(); err != nil {
			d.t.Errorf("%s: %v", d.challenge, err)
		} else {
			d.state, d.order = "valid", "ready"
		}
		d.reply(w, 200, d.challengeNow())
	case "/finalize":
		if err := d.sign(payload); err != nil {
			d.t.Error(err)
		} else {
			d.order = "valid"
		}
		d.reply(w, 200, d.orderNow())
	case "/cert":
		w.Header().Set("Content-Type", "application/pem-certificate-chain")
		for _, b := range [][]byte{d.issued, d.root.Raw} {
			if err := pem.Encode(w, &pem.Block{Type: "CERTIFICATE", Bytes: b}); err != nil {
				d.t.Error(err)
			}
		}
	default:
		d.t.Errorf("asked for %s", r.URL.Path)
		w.WriteHeader(404)
	}
}

func (d *directory) reply(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	if err := json.NewEncoder(w).Encode(v); err != nil {
		d.t.Error(err)
	}
}

func (d *directory) orderNow() any {
	o := map[string]any{
		"status": d.order, "identifiers": []any{map[string]string{"type": "dns", "value": d.host}},
		"authorizations": []string{d.URL + "/authz"}, "finalize": d.URL + "/finalize",
	}
	if d.order == "valid" {
		o["certificate"] = d.URL + "/cert"
	}
	return o
}

func (d *directory) challengeNow() any {
	return map[string]string{"type": d.challenge, "url": d.URL + "/challenge", "token": token, "status": d.state}
}

// opened checks a request's signature, nonce and address, and returns its payload.
func (d *directory) opened(r *http.Request) ([]byte, error) {
	var in struct{ Protected, Payload, Signature string }
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
		return nil, err
	}
	var head struct {
		Alg, Nonce, URL, Kid string
		JWK                  *struct{ Crv, Kty, X, Y string }
	}
	raw, err := base64.RawURLEncoding.DecodeString(in.Protected)
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(raw, &head); err != nil {
		return nil, err
	}
	if !d.nonces[head.Nonce] {
		return nil, errors.New("the nonce is not one of ours, or was used")
	}
	delete(d.nonces, head.Nonce)
	if head.URL != d.URL+r.URL.Path || head.Alg != "ES256" || r.Header.Get("Content-Type") != "application/jose+json" {
		return nil, fmt.Errorf("head %+v of %s", head, r.URL)
	}
	if (head.JWK != nil) != (r.URL.Path == "/account") || head.JWK == nil && head.Kid != d.URL+"/account/1" {
		return nil, fmt.Errorf("a key where its name belongs, or the other way: %+v", head)
	}
	if head.JWK != nil {
		x, err1 := base64.RawURLEncoding.DecodeString(head.JWK.X)
		y, err2 := base64.RawURLEncoding.DecodeString(head.JWK.Y)
		if err := errors.Join(err1, err2); err != nil {
			return nil, err
		}
		if d.account, err = ecdsa.ParseUncompressedPublicKey(elliptic.P256(), append(append([]byte{4}, x...), y...)); err != nil {
			return nil, err
		}
	}
	sig, err := base64.RawURLEncoding.DecodeString(in.Signature)
	if err != nil || len(sig) != 64 {
		return nil, fmt.Errorf("the signature: %w", err)
	}
	sum := sha256.Sum256([]byte(in.Protected + "." + in.Payload))
	if !ecdsa.Verify(d.account, sum[:], new(big.Int).SetBytes(sig[:32]), new(big.Int).SetBytes(sig[32:])) {
		return nil, errors.New("the signature is not the account's")
	}
	return base64.RawURLEncoding.DecodeString(in.Payload)
}

// authorization is the token with the thumbprint of the account's key (RFC 8555, 8.1; RFC 7638).
func (d *directory) authorization() (string, error) {
	b, err := d.account.Bytes()
	if err != nil {
		return "", err
	}
	e := base64.RawURLEncoding
	sum := sha256.Sum256(
		[]byte(
			`{"crv":"P-256","kty":"EC","x":"` + e.EncodeToString(b[1:33]) + `","y":"` + e.EncodeToString(b[33:]) + `"}`,
		),
	)
	return token + "." + e.EncodeToString(sum[:]), nil
}

// visit checks whether the host answers the challenge.
func (d *directory) visit() error {
	want, err := d.authorization()
	if err != nil {
		return err
	}
	if d.challenge == "http-01" {
		r, err := http.NewRequest("GET", "http://"+d.reach+"/.well-known/acme-challenge/"+token, nil)
		if err != nil {
			return err
		}
		r.Host = d.host
		res, err := http.DefaultClient.Do(r)
		if err != nil {
			return err
		}
		got, err := io.ReadAll(res.Body)
		if err := errors.Join(err, res.Body.Close()); err != nil || res.StatusCode != 200 || string(got) != want {
			return fmt.Errorf("%d %q, want %q, %w", res.StatusCode, got, want, err)
		}
		return nil
	}
	c, err := tls.Dial(
		"tcp", d.reach,
		&tls.Config{ServerName: d.host, NextProtos: []string{"acme-tls/1"}, InsecureSkipVerify: true},
	) // its certificate is the challenge
	if err != nil {
		return err
	}
	leaf := c.ConnectionState().PeerCertificates[0]
	proto := c.ConnectionState().NegotiatedProtocol
	if err := c.Close(); err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(want))
	value, err := asn1.Marshal(sum[:])
	if err != nil {
		return err
	}
	for _, x := range leaf.Extensions {
		if x.Id.Equal(asn1.ObjectIdentifier{1, 3, 6, 1, 5, 5, 7, 1, 31}) && x.Critical && bytes.Equal(x.Value, value) &&
			proto == "acme-tls/1" && leaf.VerifyHostname(d.host) == nil {
			return nil
		}
	}
	return fmt.Errorf("no proof in the certificate for %v by %s", leaf.DNSNames, proto)
}

func (d *directory) sign(payload []byte) error {
	var in struct{ CSR string }
	if err := json.Unmarshal(payload, &in); err != nil {
		return err
	}
	der, err := base64.RawURLEncoding.DecodeString(in.CSR)
	if err != nil {
		return err
	}
	csr, err := x509.ParseCertificateRequest(der)
	if err != nil {
		return err
	}
	if err := csr.CheckSignature(); err != nil || len(csr.DNSNames) != 1 || csr.DNSNames[0] != d.host {
		return fmt.Errorf("a request for %v, %w", csr.DNSNames, err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(int64(d.orders) + 1), DNSNames: csr.DNSNames, NotBefore: time.Now().Add(-time.Minute),
		NotAfter: time.Now().Add(30 * time.Minute), KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	d.issued, err = x509.CreateCertificate(rand.Reader, template, d.root, csr.PublicKey, crypto.Signer(d.key))
	return err
}
