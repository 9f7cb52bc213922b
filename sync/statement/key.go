package statement

import (
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"math/big"
	"strings"
)

var (
	// ErrKey is wrapped when something is not a public key of the kinds used here.
	ErrKey = errors.New("is not a public key of Ed25519 or P-256")
	// ErrSignature is wrapped when a signature is not by the key, or is over something else.
	ErrSignature = errors.New("the signature does not fit")
)

var base = base64.RawURLEncoding.Strict()

// Key is a public key as a JSON Web Key (RFC 7517, RFC 8037): {"kty":"OKP","crv":"Ed25519","x"} or
// {"kty":"EC","crv":"P-256","x","y"}.
type Key struct {
	Kty string `json:"kty"`
	Crv string `json:"crv"`
	X   string `json:"x"`
	Y   string `json:"y,omitempty"`
}

// PublicOf returns the public key of a private one.
func PublicOf(private ed25519.PrivateKey) Key {
	public, _ := private.Public().(ed25519.PublicKey) // always of this type
	return Key{Kty: "OKP", Crv: "Ed25519", X: base.EncodeToString(public)}
}

// ReadKey reads a key.
//
// Refuses: ErrKey for other kinds, for members that the key does not have, and for points that are
// not on the curve.
func ReadKey(b []byte) (Key, error) {
	d := json.NewDecoder(strings.NewReader(string(b)))
	d.DisallowUnknownFields()
	var k Key
	if err := d.Decode(&k); err != nil {
		return Key{}, fmt.Errorf("%w: %w", ErrKey, err)
	}
	return k, k.check()
}

func (k Key) check() error {
	x, err := base.DecodeString(k.X)
	if err != nil || len(x) != 32 {
		return ErrKey
	}
	switch {
	case k.Kty == "OKP" && k.Crv == "Ed25519" && k.Y == "":
		return nil
	case k.Kty == "EC" && k.Crv == "P-256":
		_, err := k.ecdsa()
		return err
	}
	return ErrKey
}

func (k Key) ecdsa() (*ecdsa.PublicKey, error) {
	x, err := base.DecodeString(k.X)
	y, err2 := base.DecodeString(k.Y)
	if err != nil || err2 != nil || len(x) != 32 || len(y) != 32 {
		return nil, ErrKey
	}
	public, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), append(append([]byte{4}, x...), y...))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrKey, err)
	}
	return public, nil
}

// Thumbprint names a key. Source: RFC 7638 §3, RFC 8037 appendix A.3.
func (k Key) Thumbprint() string {
	text := `{"crv":"` + k.Crv + `","kty":"` + k.Kty + `","x":"` + k.X + `"`
	if k.Y != "" {
		text += `,"y":"` + k.Y + `"`
	}
	sum := sha256.Sum256([]byte(text + "}"))
	return base.EncodeToString(sum[:])
}

// RecordOf returns the id of the record of the key with a thumbprint: its first 130 bits. It
// returns "" for a malformed thumbprint.
func RecordOf(thumbprint string) string {
	const alphabet = "0123456789abcdefghjkmnpqrstvwxyz" // of ids
	b, err := base.DecodeString(thumbprint)
	if err != nil || len(b) != sha256.Size {
		return ""
	}
	id := make([]byte, 26)
	for i := range id {
		bit := 5 * i
		two := uint(b[bit/8])<<8 | uint(b[bit/8+1])
		id[i] = alphabet[two>>(11-bit%8)&31]
	}
	return string(id)
}

// header is the only header that a signature has.
type header struct {
	Alg string `json:"alg"`
	Kid string `json:"kid"`
}

// Sign signs bytes with an Ed25519 key.
func Sign(private ed25519.PrivateKey, payload []byte) string {
	head := base.EncodeToString([]byte(`{"alg":"EdDSA","kid":"` + PublicOf(private).Thumbprint() + `"}`))
	return head + ".." + base.EncodeToString(ed25519.Sign(private, []byte(head+"."+base.EncodeToString(payload))))
}

// KeyOf returns the thumbprint of the key that a signature names.
func KeyOf(signature string) (string, error) {
	h, _, _, err := split(signature)
	return h.Kid, err
}

func split(signature string) (h header, head string, sum []byte, err error) {
	parts := strings.Split(signature, ".")
	if len(parts) != 3 || parts[1] != "" {
		return h, "", nil, fmt.Errorf("%w: it is no signature of a detached text", ErrSignature)
	}
	b, err := base.DecodeString(parts[0])
	sum, err2 := base.DecodeString(parts[2])
	if err != nil || err2 != nil {
		return h, "", nil, fmt.Errorf("%w: %w", ErrSignature, errors.Join(err, err2))
	}
	d := json.NewDecoder(strings.NewReader(string(b)))
	d.DisallowUnknownFields()
	if err := d.Decode(&h); err != nil || RecordOf(h.Kid) == "" {
		return h, "", nil, fmt.Errorf("%w: its header is not as it should be", ErrSignature)
	}
	return h, parts[0], sum, nil
}

// Verify checks that a signature is by this key and over these bytes.
//
// Refuses: ErrSignature; ErrKey.
func (k Key) Verify(signature string, payload []byte) error {
	h, head, sum, err := split(signature)
	if err != nil {
		return err
	}
	if err := k.check(); err != nil {
		return err
	}
	if h.Kid != k.Thumbprint() {
		return fmt.Errorf("%w: it names another key", ErrSignature)
	}
	input := []byte(head + "." + base.EncodeToString(payload))
	good := false
	switch {
	case k.Kty == "OKP" && (h.Alg == "EdDSA" || h.Alg == "Ed25519"): // the second by RFC 9864
		public, _ := base.DecodeString(k.X) // check has read it
		good = ed25519.Verify(public, input, sum)
	case k.Kty == "EC" && h.Alg == "ES256" && len(sum) == 64:
		public, err := k.ecdsa()
		if err != nil {
			return err
		}
		hash := sha256.Sum256(input)
		good = ecdsa.Verify(public, hash[:], new(big.Int).SetBytes(sum[:32]), new(big.Int).SetBytes(sum[32:]))
	}
	if !good {
		return ErrSignature
	}
	return nil
}
