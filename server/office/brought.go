package office

import (
	"encoding/json"

	"gaugewright/sync/store"
)

// Brought names the documents that came from another plant with a certificate's record, by the
// SHA-256 of their bytes. This office has no key to draw them again as they were.
type Brought struct {
	PDF    string `json:"pdf"`
	XML    string `json:"xml"`
	Record string `json:"record"`
}

// KeepBrought records which documents came with a certificate.
func KeepBrought(s *store.Store, certificate string, b Brought) error {
	text, err := json.Marshal(b)
	if err != nil {
		return err
	}
	return s.Private("brought").Put(certificate, text)
}

// brought returns the document picked by which if it came with the certificate, or nil for a
// certificate issued here.
func (o *Office) brought(certificate string, which func(Brought) string) (b []byte, came bool, err error) {
	text, err := o.store.Private("brought").Get(certificate)
	if err != nil || text == nil {
		return nil, false, err
	}
	var is Brought
	if err := json.Unmarshal(text, &is); err != nil {
		return nil, false, err
	}
	name := which(is)
	if name == "" {
		return nil, true, nil
	}
	b, err = o.store.Blob(name)
	return b, true, err
}
