package paper

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"

	"gaugewright/sync/canonical"
	"gaugewright/sync/statement"
)

// ListFormat names the format of a List.
const ListFormat = "gaugewright-list-1"

// List is the public list of a laboratory: its public keys, and which certificates were replaced. A
// certificate is listed by a hash of its record, so that only somebody who has the certificate
// finds it, and nobody else learns a number, an item or a customer.
type List struct {
	Format   string     `json:"format"`
	At       string     `json:"at"`
	Keys     []Key      `json:"keys"`
	Replaced []Replaced `json:"replaced"`
}

// Replaced is a certificate that is no longer valid.
type Replaced struct {
	Of string `json:"of"` // hash of the part of its record that is in its code
	By string `json:"by"` // number of the one that replaced it, readable with the same
}

// hidden returns 32 bytes that only somebody with the certificate can compute.
func hidden(use, print string) []byte {
	sum := sha256.Sum256([]byte("gaugewright " + use + " " + print))
	return sum[:]
}

// Replace returns the entry for the certificate with a print and the number that replaced it.
func Replace(print, by string) Replaced {
	b := []byte(by)
	for i, x := range hidden("by", print) {
		if i < len(b) {
			b[i] ^= x
		}
	}
	return Replaced{base.EncodeToString(hidden("of", print)), base.EncodeToString(b)}
}

// Find returns the number that replaced the certificate with a print, or "".
func (l *List) Find(print string) string {
	of := base.EncodeToString(hidden("of", print))
	for _, r := range l.Replaced {
		if r.Of != of {
			continue
		}
		b, err := base.DecodeString(r.By)
		if err != nil {
			return "another one"
		}
		for i, x := range hidden("by", print) {
			if i < len(b) {
				b[i] ^= x
			}
		}
		return string(b)
	}
	return ""
}

// Sign writes the list with the signature of a key, in the flattened form of RFC 7515.
func (l *List) Sign(private ed25519.PrivateKey) ([]byte, error) {
	b, err := json.Marshal(l)
	if err == nil {
		b, err = canonical.JSON(b)
	}
	if err != nil {
		return nil, err
	}
	s := Signed{Record: b, Signature: statement.Sign(private, b)}
	return s.File(), nil
}

// ReadList reads a list signed by one of the trusted keys or, if trusted is nil, by one of its own.
// A caller that passes nil trusts the server that the list came from.
func ReadList(b []byte, trusted []Key) (l List, err error) {
	s, err := ReadFile(b)
	if err != nil {
		return l, err
	}
	if err := json.Unmarshal(s.Record, &l); err != nil || l.Format != ListFormat {
		return l, not("it is no list of keys and replaced certificates")
	}
	if trusted == nil {
		trusted = l.Keys
	}
	_, err = signedBy(s.Signature, s.Record, trusted)
	return l, err
}
