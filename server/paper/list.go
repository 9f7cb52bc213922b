package paper

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"

	"gaugewright/sync/canonical"
	"gaugewright/sync/statement"
)

// ListFormat names the form of a List.
const ListFormat = "gaugewright-list-1"

// List is what anybody may know of a laboratory: its public keys, and which certificates were
// replaced. A certificate is listed by a hash of its record: who has the certificate finds it,
// and nobody else learns a number, an item or a customer.
type List struct {
	Format   string     `json:"format"`
	At       string     `json:"at"`
	Keys     []Key      `json:"keys"`
	Replaced []Replaced `json:"replaced"`
}

// Replaced is a certificate that is no longer valid.
type Replaced struct {
	Of string `json:"of"` // a hash of what the code of its paper has of its record
	By string `json:"by"` // the number of the one in its place, readable with the same
}

// hidden returns 32 bytes that nobody knows who has not the certificate.
func hidden(use, print string) []byte {
	sum := sha256.Sum256([]byte("gaugewright " + use + " " + print))
	return sum[:]
}

// Replace says which number took the place of the certificate with a print.
func Replace(print, by string) Replaced {
	b := []byte(by)
	for i, x := range hidden("by", print) {
		if i < len(b) {
			b[i] ^= x
		}
	}
	return Replaced{base.EncodeToString(hidden("of", print)), base.EncodeToString(b)}
}

// Find returns the number that took the place of the certificate with a print, "" for none.
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

// ReadList reads a list that is signed by one of its keys, or by one of those given. Whoever takes
// the list from the laboratory's own server trusts that server.
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
