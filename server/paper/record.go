package paper

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"gaugewright/sync/canonical"
	"gaugewright/sync/statement"
)

// ErrNot is wrapped by every fault that a check finds.
var ErrNot = errors.New("does not hold")

func not(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNot, fmt.Sprintf(format, args...))
}

// RecordFormat names the format of the canonical record of a certificate.
const RecordFormat = "gaugewright-certificate-1"

// The names of the files in a certificate's PDF.
const (
	RecordName    = "record.json"
	SignatureName = "record.jws"
)

// Key is a public key of the laboratory.
type Key struct {
	Public statement.Key `json:"public"`
	From   string        `json:"from"`
	Until  string        `json:"until"` // "" while it is in use
	Why    string        `json:"why"`   // why it is out of use
}

// Signed is a certificate's record with the signatures of the laboratory's key.
type Signed struct {
	Record    []byte // canonical
	Signature string // detached JWS over Record
	Code      string // of the paper
	XML       []byte // the machine-readable form that the record names; nil if there is none
}

// Record is the part of a canonical record that checking needs.
type Record struct {
	Format      string
	Replaces    string
	Certificate struct{ Number, Issued string }
}

// SignRecord signs a record in JSON and the code of its certificate, whose Print it fills in.
func SignRecord(private ed25519.PrivateKey, record []byte, code Code, xml []byte) (Signed, error) {
	whole, err := canonical.JSON(record)
	if err != nil {
		return Signed{}, fmt.Errorf("the record of certificate %s: %w", code.Number, err)
	}
	code.Print = PrintOf(whole)
	text, err := code.Sign(private)
	return Signed{whole, statement.Sign(private, whole), text, xml}, err
}

// PrintToBe returns the Print that a record will have once it is signed.
func PrintToBe(record []byte) (string, error) {
	whole, err := canonical.JSON(record)
	return PrintOf(whole), err
}

// Fingerprint returns the SHA-256 of the record in hexadecimal digits.
func (s *Signed) Fingerprint() string {
	sum := sha256.Sum256(s.Record)
	return hex.EncodeToString(sum[:])
}

// flattened is the flattened form of RFC 7515 §7.2.2, its members in this order.
type flattened struct {
	Payload   string `json:"payload"`
	Protected string `json:"protected"`
	Signature string `json:"signature"`
}

// File writes the record with its signature as one file, in the flattened form of RFC 7515.
func (s *Signed) File() []byte {
	parts := strings.Split(s.Signature, ".")
	b, err := json.Marshal(flattened{base.EncodeToString(s.Record), parts[0], parts[2]})
	if err != nil {
		panic(err) // three texts always marshal
	}
	return append(b, '\n')
}

// ReadFile reads what File wrote, byte for byte, without checking the signature.
func ReadFile(b []byte) (s Signed, err error) {
	var f flattened
	if json.Unmarshal(b, &f) != nil {
		return s, not("it is no record of a certificate")
	}
	if s.Record, err = base.DecodeString(f.Payload); err != nil {
		return s, not("the payload of the record is damaged")
	}
	s.Signature = f.Protected + ".." + f.Signature
	if !bytes.Equal(s.File(), b) {
		return s, not("the file is not as the office wrote it")
	}
	return s, nil
}

// signedBy returns the key that made a detached signature over some bytes.
func signedBy(signature string, payload []byte, keys []Key) (Key, error) {
	kid, err := statement.KeyOf(signature)
	if err != nil {
		return Key{}, not("the signature is damaged")
	}
	for _, k := range keys {
		if k.Public.Thumbprint() != kid {
			continue
		}
		if k.Public.Verify(signature, payload) != nil {
			return Key{}, not("it was altered after it was signed")
		}
		return k, nil
	}
	return Key{}, not("it is signed with a key that is none of the laboratory's (%s)", kid)
}

// readRecord reads a canonical record and refuses any other form.
func readRecord(b []byte) (r Record, err error) {
	whole, err := canonical.JSON(b)
	if err != nil || !bytes.Equal(whole, b) {
		return r, not("the record is not in its canonical form")
	}
	if err := json.Unmarshal(b, &r); err != nil || r.Format != RecordFormat {
		return r, not("the record is not of the form %s", RecordFormat)
	}
	return r, nil
}
