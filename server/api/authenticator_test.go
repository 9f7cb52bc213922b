package api_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"testing"

	"github.com/fxamacker/cbor/v2"
)

// authenticator makes passkeys in software, as a phone or a token does (Web Authentication, level
// 3, clauses 6.1, 6.5.1 and 8.7; the key in the form of RFC 9053, ES256).
type authenticator struct {
	t       *testing.T
	origin  string // of the page that asks
	domain  string // what it binds to; "" for the domain in the options
	counter uint32
	counts  bool // its counter increases with each use
	seesWho bool // it asks for a finger or a number
	id      []byte
	handle  []byte
	key     *ecdsa.PrivateKey
}

const (
	userPresent  = 0x01
	userVerified = 0x04
	withKey      = 0x40
)

// credentialOptions are the parts of a request to the browser that matter to an authenticator.
type credentialOptions struct {
	Challenge        string
	RP               struct{ ID string }
	RPID             string
	User             struct{ ID string }
	UserVerification string
	AllowCredentials []struct{ ID string }
}

func newAuthenticator(t *testing.T) *authenticator {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	id := make([]byte, 32)
	if _, err := rand.Read(id); err != nil {
		t.Fatal(err)
	}
	return &authenticator{t: t, origin: passkeyOrigin, counts: true, seesWho: true, id: id, key: key}
}

func b64(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

func (a *authenticator) un64(s string) []byte {
	a.t.Helper()
	b, err := base64.RawURLEncoding.DecodeString(s)
	if err != nil {
		a.t.Fatalf("%q: %v", s, err)
	}
	return b
}

func (a *authenticator) encoded(v any) []byte {
	a.t.Helper()
	b, err := cbor.Marshal(v)
	if err != nil {
		a.t.Fatal(err)
	}
	return b
}

// client is what the browser signs about the page that asked.
func (a *authenticator) client(kind, challenge string) []byte {
	a.t.Helper()
	b, err := json.Marshal(
		map[string]any{"type": kind, "challenge": challenge, "origin": a.origin, "crossOrigin": false},
	)
	if err != nil {
		a.t.Fatal(err)
	}
	return b
}

func (a *authenticator) data(domain string, flags byte, more []byte) []byte {
	if a.domain != "" {
		domain = a.domain
	}
	if a.seesWho {
		flags |= userVerified
	}
	if a.counts {
		a.counter++
	}
	sum := sha256.Sum256([]byte(domain))
	b := append(sum[:], flags|userPresent)
	return append(binary.BigEndian.AppendUint32(b, a.counter), more...)
}

func (a *authenticator) answer(response map[string]string) json.RawMessage {
	a.t.Helper()
	b, err := json.Marshal(map[string]any{
		"id": b64(a.id), "rawId": b64(a.id), "type": "public-key", "response": response,
		"clientExtensionResults": map[string]any{},
	})
	if err != nil {
		a.t.Fatal(err)
	}
	return b
}

// make makes a passkey.
func (a *authenticator) make(o credentialOptions) json.RawMessage {
	a.t.Helper()
	a.handle = a.un64(o.User.ID)
	point, err := a.key.PublicKey.Bytes() // 4, x, y
	if err != nil {
		a.t.Fatal(err)
	}
	cose := a.encoded(map[int]any{1: 2, 3: -7, -1: 1, -2: point[1:33], -3: point[33:]})
	more := append(make([]byte, 16), byte(len(a.id)>>8), byte(len(a.id)))
	more = append(append(more, a.id...), cose...)
	object := a.encoded(map[string]any{
		"fmt": "none", "attStmt": map[string]any{}, "authData": a.data(o.RP.ID, withKey, more),
	})
	client := a.client("webauthn.create", o.Challenge)
	return a.answer(map[string]string{"clientDataJSON": b64(client), "attestationObject": b64(object)})
}

// sign signs a challenge.
func (a *authenticator) sign(o credentialOptions) json.RawMessage {
	a.t.Helper()
	data, client := a.data(o.RPID, 0, nil), a.client("webauthn.get", o.Challenge)
	hash := sha256.Sum256(client)
	sum := sha256.Sum256(append(append([]byte{}, data...), hash[:]...))
	signature, err := ecdsa.SignASN1(rand.Reader, a.key, sum[:])
	if err != nil {
		a.t.Fatal(err)
	}
	return a.answer(map[string]string{
		"clientDataJSON": b64(client), "authenticatorData": b64(data), "signature": b64(signature),
		"userHandle": b64(a.handle),
	})
}
