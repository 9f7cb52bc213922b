package statement_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/statement"

	"github.com/golang-jwt/jwt/v5"
)

// The key of RFC 8037 appendix A.1, which is that of RFC 8032 §7.1 test 1; its thumbprint is in
// A.3.
const (
	seed       = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
	public     = `{"kty":"OKP","crv":"Ed25519","x":"11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"}`
	thumbprint = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
)

func private(t *testing.T) ed25519.PrivateKey {
	t.Helper()
	b, err := hex.DecodeString(seed)
	if err != nil {
		t.Fatal(err)
	}
	return ed25519.NewKeyFromSeed(b)
}

func TestKeyOfTheRFC(t *testing.T) {
	k, err := statement.ReadKey([]byte(public))
	if err != nil || k.Thumbprint() != thumbprint || statement.PublicOf(private(t)) != k {
		t.Errorf("%+v %s %v", k, k.Thumbprint(), err)
	}
	id := statement.RecordOf(thumbprint)
	if !change.IsID(id) || len(id) != 26 {
		t.Errorf("%q is no id", id)
	}
	// The first 130 bits, taken one by one.
	b, err := base64.RawURLEncoding.DecodeString(thumbprint)
	if err != nil {
		t.Fatal(err)
	}
	bits := ""
	for _, x := range b {
		for i := 7; i >= 0; i-- {
			bits += string('0' + rune(x>>i&1))
		}
	}
	for i, c := range id {
		n := strings.IndexRune("0123456789abcdefghjkmnpqrstvwxyz", c)
		for k := range 5 {
			if want := bits[5*i+k] == '1'; n>>(4-k)&1 == 1 != want {
				t.Fatalf("digit %d of %s", i, id)
			}
		}
	}
	for _, bad := range []string{"{}", `{"kty":"OKP","crv":"Ed25519","x":"AA"}`, strings.Replace(public, "OKP", "EC", 1), strings.Replace(public, `"kty"`, `"d":"x","kty"`, 1),
		`{"kty":"EC","crv":"P-256","x":"11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo","y":"11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"}`} {
		if _, err := statement.ReadKey([]byte(bad)); !errors.Is(err, statement.ErrKey) {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

// TestAnotherLibraryReadsIt: golang-jwt accepts our signature with its payload put back in, for
// both algorithms, and we accept its signature.
func TestAnotherLibraryReadsIt(t *testing.T) {
	s, err := statement.Of(
		"pers0n", "signature", "v1s1t", []byte(`{"name":"A. Person","covers":["c2","c1"],"proof":"x"}`),
	)
	if err != nil {
		t.Fatal(err)
	}
	payload := s.Bytes()
	key := private(t)
	head, sum, _ := strings.Cut(statement.Sign(key, payload), "..")
	whole := head + "." + base64.RawURLEncoding.EncodeToString(payload) + "." + sum
	token, err := jwt.Parse(
		whole, func(*jwt.Token) (any, error) { return key.Public(), nil },
		jwt.WithValidMethods([]string{"EdDSA"}),
	)
	if err != nil || token.Header["kid"] != thumbprint {
		t.Fatalf("%v %v", token.Header, err)
	}
	if claims, _ := token.Claims.(jwt.MapClaims); claims["digest"] != s.Digest || claims["record"] != "v1s1t" {
		t.Errorf("%v", claims)
	}

	p256, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := p256.PublicKey.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	k := statement.Key{
		Kty: "EC", Crv: "P-256", X: base64.RawURLEncoding.EncodeToString(raw[1:33]),
		Y: base64.RawURLEncoding.EncodeToString(raw[33:]),
	}
	header := base64.RawURLEncoding.EncodeToString([]byte(`{"alg":"ES256","kid":"` + k.Thumbprint() + `"}`))
	signed, err := jwt.SigningMethodES256.Sign(header+"."+base64.RawURLEncoding.EncodeToString(payload), p256)
	if err != nil {
		t.Fatal(err)
	}
	detached := header + ".." + base64.RawURLEncoding.EncodeToString(signed)
	if err := k.Verify(detached, payload); err != nil {
		t.Error(err)
	}
	every(t, k, detached, payload)
}

// every flips each bit of a signature and of the signed bytes, and wants each refused.
func every(t *testing.T, k statement.Key, signature string, payload []byte) {
	t.Helper()
	flip := func(b []byte, i int) []byte {
		out := append([]byte{}, b...)
		out[i/8] ^= 1 << (i % 8)
		return out
	}
	for i := range 8 * len(signature) {
		if k.Verify(string(flip([]byte(signature), i)), payload) == nil {
			t.Fatalf("bit %d of the signature may be anything", i)
		}
	}
	for i := range 8 * len(payload) {
		if k.Verify(signature, flip(payload, i)) == nil {
			t.Fatalf("bit %d of the text may be anything", i)
		}
	}
}

func TestEveryBitCounts(t *testing.T) {
	key := private(t)
	every(t, statement.PublicOf(key), statement.Sign(key, []byte(`{"a":1}`)), []byte(`{"a":1}`))
	other := ed25519.NewKeyFromSeed(make([]byte, 32))
	if err := statement.PublicOf(other).Verify(statement.Sign(key, []byte("x")), []byte("x")); !errors.Is(err, statement.ErrSignature) {
		t.Error(err)
	}
}

// TestHeaders: a header has its algorithm and its key and nothing else, and the algorithm matches
// the key.
func TestHeaders(t *testing.T) {
	key := private(t)
	k := statement.PublicOf(key)
	payload := []byte("{}")
	made := func(head string) string {
		h := base64.RawURLEncoding.EncodeToString([]byte(head))
		return h + ".." + base64.RawURLEncoding.EncodeToString(
			ed25519.Sign(key, []byte(h+"."+base64.RawURLEncoding.EncodeToString(payload))),
		)
	}
	for head, good := range map[string]bool{
		`{"alg":"EdDSA","kid":"` + thumbprint + `"}`:   true,
		`{"alg":"Ed25519","kid":"` + thumbprint + `"}`: true,
		`{"alg":"none","kid":"` + thumbprint + `"}`:    false,
		`{"alg":"ES256","kid":"` + thumbprint + `"}`:   false,
		`{"alg":"EdDSA"}`:                                         false,
		`{"alg":"EdDSA","kid":"x"}`:                               false,
		`{"alg":"EdDSA","kid":"` + thumbprint + `","jwk":{}}`:     false,
		`{"alg":"EdDSA","kid":"` + thumbprint + `","b64":false}`:  false,
		`{"alg":"EdDSA","kid":"` + thumbprint + `","crit":["x"]}`: false,
	} {
		if err := k.Verify(made(head), payload); (err == nil) != good {
			t.Errorf("%s: %v", head, err)
		}
	}
}

// shared is a file that the phone's own code is tested with too.
type shared struct {
	States  []json.RawMessage `json:"states"`
	Covers  []string          `json:"covers"`
	Besides []string          `json:"besides"`
	Content string            `json:"content"`
	Value   json.RawMessage   `json:"value"`
	By      string            `json:"by"`
	Field   string            `json:"field"`
	Record  string            `json:"record"`
	Payload string            `json:"payload"`
	Proof   string            `json:"proof"`
	Key     json.RawMessage   `json:"key"`
	ID      string            `json:"id"`
}

// TestAsThePhoneSigns: what the phone's code hashes and signs is what this package checks, to the
// byte. webapp/test/keys.test.ts reads the same file.
func TestAsThePhoneSigns(t *testing.T) {
	b, err := os.ReadFile("../../testdata/statement.json")
	if err != nil {
		t.Fatal(err)
	}
	var in shared
	if err := json.Unmarshal(b, &in); err != nil {
		t.Fatal(err)
	}
	states := make([]merge.State, len(in.States))
	for i, s := range in.States {
		var compact bytes.Buffer
		if err := json.Compact(&compact, s); err != nil {
			t.Fatal(err)
		}
		if states[i], err = merge.ParseState(compact.Bytes()); err != nil {
			t.Fatal(err)
		}
	}
	besides := func(field string) bool {
		word, _, _ := strings.Cut(field, ".")
		return slices.Contains(in.Besides, word)
	}
	content, err := statement.Content(states, in.Covers, besides)
	if err != nil || content != in.Content {
		t.Errorf("content %s, want %s, %v", content, in.Content, err)
	}
	s, err := statement.Of(in.By, in.Field, in.Record, in.Value)
	if err != nil || string(s.Bytes()) != in.Payload {
		t.Errorf("%s, want %s, %v", s.Bytes(), in.Payload, err)
	}
	if got := statement.Sign(private(t), s.Bytes()); got != in.Proof {
		t.Errorf("%s, want %s", got, in.Proof)
	}
	k, err := statement.ReadKey(in.Key)
	if err != nil || k.Verify(in.Proof, s.Bytes()) != nil || statement.RecordOf(k.Thumbprint()) != in.ID {
		t.Errorf("%+v %v", k, err)
	}
	if content, err = statement.Content(states, in.Covers[1:], besides); err != nil || content == in.Content {
		t.Error("a change less is the same content")
	}
}
