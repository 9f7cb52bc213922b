package office

import (
	"cmp"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"io/fs"
	"slices"

	"gaugewright/server/plant"
	"gaugewright/sync/store"
)

// EvidenceFormat names the form of an Evidence.
const EvidenceFormat = "gaugewright-record-1"

// Evidence is the record of one certificate in a file that can be checked without the office: every
// change of the visit, its runs, its certificates and all keys, each with the proof that it is in
// the journal, and the journal's signed head.
type Evidence struct {
	Format      string            `json:"format"`
	Certificate string            `json:"certificate"` // the id of its record
	Heads       string            `json:"heads"`       // the key of the head, in base64
	Head        store.Head        `json:"head"`
	Entries     []EvidenceEntry   `json:"entries"`
	Blobs       map[string]string `json:"blobs"` // records of loggers in base64, by their SHA-256
}

// EvidenceEntry is one entry of the journal: its number from 1, the canonical bytes of the change,
// and the proof of RFC 6962 §2.1.1 in hexadecimal digits, nearest node first.
type EvidenceEntry struct {
	Seq    uint64   `json:"seq"`
	Change string   `json:"change"`
	Proof  []string `json:"proof"`
	// Leaf is the journal's leaf, in hexadecimal, for an entry with erased values.
	Leaf string `json:"leaf,omitempty"`
}

// Evidence returns the record of a certificate.
//
// Refuses: plant.ErrNotFound, plant.ErrKind.
func (o *Office) Evidence(certificate string) (Evidence, error) {
	out := Evidence{
		Format: EvidenceFormat, Certificate: certificate, Heads: o.store.HeadKey(),
		Entries: []EvidenceEntry{}, Blobs: map[string]string{},
	}
	state, err := o.Record(certificate)
	if err != nil {
		return out, err
	}
	c, err := plant.ReadCertificate(state)
	if err != nil {
		return out, err
	}
	records := []string{c.Parent}
	kids, err := o.store.Children(c.Parent)
	if err != nil {
		return out, err
	}
	for _, k := range kids {
		records = append(records, k.ID)
	}
	keys, err := o.Keys()
	if err != nil {
		return out, err
	}
	for _, k := range keys {
		records = append(records, k.ID)
	}
	if out.Head, err = o.store.Head(); err != nil {
		return out, err
	}
	for _, id := range records {
		entries, err := o.store.History(id)
		if err != nil {
			return out, err
		}
		for _, e := range entries {
			if e.Seq > out.Head.Size {
				continue // it arrived while this was written
			}
			proof, err := o.store.Inclusion(e.Seq, out.Head.Size)
			if err != nil {
				return out, err
			}
			one := EvidenceEntry{Seq: e.Seq, Change: string(e.Change.Bytes()), Proof: []string{}}
			leaf, erased, err := o.store.LeafOf(e.Seq)
			if err != nil {
				return out, err
			}
			if erased {
				one.Leaf = leaf
			}
			for _, h := range proof {
				one.Proof = append(one.Proof, hex.EncodeToString(h[:]))
			}
			out.Entries = append(out.Entries, one)
		}
	}
	slices.SortFunc(out.Entries, func(a, b EvidenceEntry) int { return cmp.Compare(a.Seq, b.Seq) })
	runs, err := plant.Runs(o.store, c.Parent)
	if err != nil {
		return out, err
	}
	for i := range runs {
		for _, name := range runs[i].Records() {
			b, err := o.store.Blob(name)
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return out, err
			}
			out.Blobs[name] = base64.StdEncoding.EncodeToString(b)
		}
	}
	return out, nil
}
