package certificates

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"

	"gaugewright/server/dcc"
	"gaugewright/server/paper"
)

// VerifyPath is the page on which anyone can check a certificate.
const VerifyPath = "/verify"

// verdict is the result of one run.
type verdict struct {
	Verdict string `json:"verdict"`
	Reason  string `json:"reason,omitempty"`
}

// record is the signed content of a certificate. Its numbers are texts, so that 501.0 stays 501.0.
type record struct {
	Format      string          `json:"format"`
	Certificate dcc.Certificate `json:"certificate"`
	AsFound     *verdict        `json:"as_found,omitempty"`
	AsLeft      *verdict        `json:"as_left,omitempty"`
	XML         string          `json:"xml"` // SHA-256 of the machine-readable form, or ""
	Replaces    string          `json:"replaces,omitempty"`
	ReplacesRec string          `json:"replaces_record,omitempty"` // SHA-256 of that one's signed record
	Why         string          `json:"why,omitempty"`
	Different   string          `json:"different,omitempty"`
}

// Record returns the signed content of a certificate, in JSON, and the content of its code.
//
// Takes: its machine-readable form, or nil.
func Record(in Input, xml []byte) ([]byte, paper.Code, error) {
	if err := in.complete(); err != nil {
		return nil, paper.Code{}, err
	}
	c, err := in.machine()
	if err != nil {
		return nil, paper.Code{}, err
	}
	r := record{
		Format: paper.RecordFormat, Certificate: c, Replaces: in.Replaces, ReplacesRec: in.ReplacesSigned, Why: in.Why,
		Different: in.Change,
	}
	code := paper.Code{Number: in.Number, Date: c.Issued, Item: joined("/", c.Item.Tag, c.Item.Serial)}
	if in.Found != nil {
		f := in.Found.Finding
		r.AsFound, code.Found = &verdict{f.Verdict, f.Reason}, f.Verdict
	}
	if in.Left != nil {
		r.AsLeft, code.Left = &verdict{in.Left.Finding.Verdict, in.Left.Finding.Reason}, in.Left.Finding.Verdict
	}
	if xml != nil {
		sum := sha256.Sum256(xml)
		r.XML = hex.EncodeToString(sum[:])
	}
	b, err := json.Marshal(r)
	return b, code, err
}

// CodeLink returns the address in the code of a certificate. A phone's camera opens the page, and
// the part after the # reaches no server.
func CodeLink(base, code string) string {
	return strings.TrimSuffix(base, "/") + VerifyPath + "#" + code
}
