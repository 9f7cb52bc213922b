package paper

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"

	"gaugewright/sync/canonical"
	"gaugewright/sync/statement"
)

const (
	sealForm = "gaugewright-seal-1"
	// sealMark begins the last line of a sealed PDF; PDF readers take it for a comment.
	sealMark = "%gaugewright-seal "
	// maxSeal keeps the end of the PDF where readers look for it: in the last 1024 bytes (ISO
	// 32000-1:2008 appendix H, from memory).
	maxSeal = 1000
)

// seal is what the laboratory's key signs about a PDF, with hashes in base64url.
type seal struct {
	Code   string `json:"code"`
	Form   string `json:"form"`
	PDF    string `json:"pdf"`    // SHA-256 of the bytes before the seal
	Record string `json:"record"` // SHA-256 of the canonical record
	XML    string `json:"xml"`    // SHA-256 of the machine-readable form, or ""
}

func hashOf(b []byte) string {
	sum := sha256.Sum256(b)
	return base.EncodeToString(sum[:])
}

// Seal adds the laboratory's signature over the whole PDF as its last line.
//
// Refuses: ErrNot for a seal that is too long for PDF readers.
func (s *Signed) Seal(private ed25519.PrivateKey, pdf []byte) ([]byte, error) {
	own := seal{Code: s.Code, Form: sealForm, PDF: hashOf(pdf), Record: hashOf(s.Record)}
	if s.XML != nil {
		own.XML = hashOf(s.XML)
	}
	b, err := json.Marshal(own)
	if err == nil {
		b, err = canonical.JSON(b)
	}
	if err != nil {
		return nil, err
	}
	line := sealMark + base.EncodeToString(b) + " " + statement.Sign(private, b) + "\n"
	if len(line) > maxSeal {
		return nil, not("the seal of %d bytes is too long", len(line))
	}
	return append(bytes.Clone(pdf), line...), nil
}

// readSeal splits a PDF from its seal and checks the seal against the keys.
func readSeal(sealed []byte, keys []Key) (own seal, pdf []byte, by Key, err error) {
	at := bytes.LastIndex(sealed, []byte("\n"+sealMark))
	if at < 0 || !bytes.HasSuffix(sealed, []byte("\n")) {
		return own, nil, by, not("the PDF has no seal of the laboratory, or it was cut off")
	}
	pdf = sealed[:at+1]
	payload, signature, ok := bytes.Cut(sealed[at+1+len(sealMark):len(sealed)-1], []byte(" "))
	b, err := base.DecodeString(string(payload))
	if !ok || err != nil || json.Unmarshal(b, &own) != nil || own.Form != sealForm {
		return own, nil, by, not("the seal of the PDF is damaged")
	}
	if by, err = signedBy(string(signature), b, keys); err != nil {
		return own, nil, by, err
	}
	if own.PDF != hashOf(pdf) {
		return own, nil, by, not("the PDF was altered after it was signed")
	}
	return own, pdf, by, nil
}
