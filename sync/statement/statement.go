package statement

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"gaugewright/sync/canonical"
	"gaugewright/sync/merge"
)

// format names the form of the signed bytes, so that no signature is valid for bytes of another
// form.
const format = "gaugewright-statement-1"

// The members of a value that carry signatures: by a person's key and by the office's.
const (
	Proof  = "proof"
	Office = "office"
)

// Statement is what a key signs.
type Statement struct {
	By     string `json:"by"` // the person's id
	Digest string `json:"digest"`
	Field  string `json:"field"` // the field's name without the part after a dot
	Format string `json:"format"`
	Record string `json:"record"`
}

// Of returns the statement that writing a value to a record's field makes.
//
// Takes:   the person, the field, the record, the value in JSON, and members of it that are not
// covered besides those with signatures.
// Refuses: a document.Fault if the value has no canonical form.
func Of(by, field, record string, value []byte, without ...string) (Statement, error) {
	word, _, _ := strings.Cut(field, ".")
	digest, err := Digest(value, without...)
	return Statement{By: by, Digest: digest, Field: word, Format: format, Record: record}, err
}

// Bytes returns the canonical form, which is what a key signs.
func (s Statement) Bytes() []byte {
	b, err := json.Marshal(s) // the names are in order
	if err == nil {
		b, err = canonical.JSON(b)
	}
	if err != nil {
		panic(err) // five texts always have a canonical form
	}
	return b
}

// Digest returns the SHA-256, in hexadecimal digits, of the canonical form of a value; of an object
// without its signatures and the named members.
func Digest(value []byte, without ...string) (string, error) {
	whole, err := canonical.JSON(value)
	if err != nil {
		return "", err
	}
	if len(whole) > 0 && whole[0] == '{' {
		var members map[string]json.RawMessage
		if err := json.Unmarshal(whole, &members); err != nil {
			return "", err
		}
		for _, name := range append([]string{Proof, Office}, without...) {
			delete(members, name)
		}
		var b bytes.Buffer
		enc := json.NewEncoder(&b)
		enc.SetEscapeHTML(false)
		if err := enc.Encode(members); err != nil {
			return "", err
		}
		if whole, err = canonical.JSON(b.Bytes()); err != nil {
			return "", err
		}
	}
	sum := sha256.Sum256(whole)
	return hex.EncodeToString(sum[:]), nil
}

// SignatureIn returns the text of a member of a value that carries a signature, or "" if there is
// none.
func SignatureIn(value []byte, member string) string {
	var members map[string]json.RawMessage
	var text string
	if json.Unmarshal(value, &members) != nil || json.Unmarshal(members[member], &text) != nil {
		return ""
	}
	return text
}

// Content returns the SHA-256, in hexadecimal digits, of what changes say about some records: the
// canonical form of
//
//	{RECORD: {FIELD: [{"change":ID,"value":…}, …]}}
//
// with the current values of each field that these changes wrote, in the order of their stamps. It
// leaves out records and fields that the changes do not touch, and the fields that besides names,
// which come and go without altering what was done.
func Content(states []merge.State, covers []string, besides func(field string) bool) (string, error) {
	covered := make(map[string]bool, len(covers))
	for _, id := range covers {
		covered[id] = true
	}
	type said struct {
		Change string          `json:"change"`
		Value  json.RawMessage `json:"value"`
	}
	all := map[string]map[string][]said{}
	for i := range states {
		fields := map[string][]said{}
		for k := range states[i].Fields {
			f := &states[i].Fields[k]
			if besides(f.Name) {
				continue
			}
			heads := slices.Clone(f.Heads)
			slices.SortFunc(
				heads, func(a, b merge.Head) int { return strings.Compare(a.Stamp.String(), b.Stamp.String()) },
			)
			for _, h := range heads {
				if covered[h.Change] {
					fields[f.Name] = append(fields[f.Name], said{h.Change, h.Value})
				}
			}
		}
		if len(fields) > 0 {
			all[states[i].ID] = fields
		}
	}
	b, err := json.Marshal(all)
	if err != nil {
		return "", fmt.Errorf("what is covered: %w", err)
	}
	return Digest(b)
}
