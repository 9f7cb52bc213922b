package verify

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"slices"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"
)

// ReadRing reads a file of public keys: a reply of GET /api/keys that was kept earlier.
func ReadRing(b []byte) (office.Ring, error) {
	var r office.Ring
	if err := json.Unmarshal(b, &r); err != nil {
		return r, fmt.Errorf("the file of keys: %w", err)
	}
	if r.Format != office.RingFormat || r.Heads == "" {
		return r, fmt.Errorf("the file of keys is not of the form %s", office.RingFormat)
	}
	return r, nil
}

// trusted returns the office's keys in a ring: nil without a ring, and an empty list for a ring
// without any.
func trusted(ring *office.Ring) (kids []string) {
	if ring == nil {
		return nil
	}
	kids = []string{}
	for _, k := range ring.Keys {
		if k.Of == "office" {
			kids = append(kids, k.Public.Thumbprint())
		}
	}
	return kids
}

// Folder checks a data folder that no program is using.
//
// Takes:   the folder; the keys and the head to check against, nil for those in the folder itself.
// Gives:   what was checked.
// Refuses: ErrNot with the first fault; an error if the folder cannot be read at all.
func Folder(dir string, ring *office.Ring) (Report, error) {
	found, err := store.Check(dir)
	if err != nil {
		return Report{}, err
	}
	if len(found.Damage) > 0 {
		return Report{Store: found.Store, Entries: found.Changes}, not("%s", found.Damage[0])
	}
	s, err := store.OpenToRead(dir)
	if err != nil {
		return Report{}, err
	}
	defer s.Close() // opened for reading only
	w := newWalk(s, func(entry uint64) plant.Source { return plant.AsOf(s, entry) })
	w.report.Store, w.report.Entries, w.report.Heads, w.report.Notes = found.Store, found.Changes, found.Heads, found.Notes
	err = w.folder(s, ring)
	return w.report, err
}

func (w *walk) folder(s *store.Store, ring *office.Ring) error {
	if err := heads(s, ring); err != nil {
		return err
	}
	return w.records(s, ring)
}

// records checks every key and visit of a store.
func (w *walk) records(s *store.Store, ring *office.Ring) error {
	if err := w.keys(trusted(ring)); err != nil {
		return err
	}
	if err := w.people(); err != nil {
		return err
	}
	const piece = 500
	for after := ""; ; {
		visits, err := s.ByKind("visit", after, piece)
		if err != nil {
			return err
		}
		for _, v := range visits {
			if err := w.visit(v.ID); err != nil {
				return err
			}
			after = v.ID
		}
		if len(visits) < piece {
			return nil
		}
	}
}

// heads checks the signed heads of a journal against the given key, and the journal against a head
// that was kept with the keys: what was there then must be the beginning of what is there now.
func heads(s *store.Store, ring *office.Ring) error {
	if ring == nil {
		return nil
	}
	err := s.Heads(func(h store.Head) error {
		if h.Verify(ring.Heads) != nil {
			if h.Store != ring.Store {
				return not("the journal's head of %d entries is not signed by the key that was given: the keys are those of the "+
					"plant %s, this is the plant %s with a journal of its own: give its keys, and check with these what came "+
					"from there, such as its export", h.Size, ring.Store, h.Store)
			}
			return not("the journal's head of %d entries is not signed by the key that was given", h.Size)
		}
		return nil
	})
	if err != nil || ring.Head == nil || ring.Head.Size == 0 {
		return err
	}
	kept := *ring.Head
	if kept.Verify(ring.Heads) != nil {
		return not("the head that was kept with the keys is not signed by their key")
	}
	now, err := s.Head()
	if err != nil {
		return err
	}
	if now.Size < kept.Size {
		return not("the journal had %d entries when the keys were kept, and has %d", kept.Size, now.Size)
	}
	proof, err := s.Consistency(kept.Size, now.Size)
	if err != nil {
		return err
	}
	old, err := hash(kept.Root)
	if err != nil {
		return err
	}
	root, err := hash(now.Root)
	if err != nil {
		return err
	}
	if journal.CheckConsistency(int(kept.Size), int(now.Size), old, root, proof) != nil {
		return not("the journal does not begin with the %d entries that it had when the keys were kept", kept.Size)
	}
	return nil
}

func hash(text string) (h journal.Hash, err error) {
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(h) || hex.EncodeToString(b) != text {
		return h, not("%q is no hash", text)
	}
	return journal.Hash(b), nil
}

// Backup checks a backup, which it restores into a temporary folder.
func Backup(path string, ring *office.Ring) (r Report, err error) {
	f, err := os.Open(path)
	if err != nil {
		return r, err
	}
	defer f.Close() // opened for reading only
	dir, err := os.MkdirTemp("", "gaugewright-verify-")
	if err != nil {
		return r, err
	}
	defer func() {
		if e := os.RemoveAll(dir); err == nil {
			err = e
		}
	}()
	found, err := store.Restore(dir, f)
	if err != nil {
		return r, not("%v", err)
	}
	if len(found.Damage) > 0 {
		return r, not("%s", found.Damage[0])
	}
	return Folder(dir, ring)
}

// Record checks the record of one certificate, and its document if one is given.
//
// Takes:   the bytes of the record; those of the PDF, nil for none; the keys to check against.
// Refuses: what Folder refuses.
func Record(record, document []byte, ring *office.Ring) (Report, error) {
	d := json.NewDecoder(bytes.NewReader(record))
	d.DisallowUnknownFields()
	var in office.Evidence
	if err := d.Decode(&in); err != nil {
		return Report{}, not("the record of a certificate: %v", err)
	}
	if in.Format != office.EvidenceFormat {
		return Report{}, not("the file is not of the form %s", office.EvidenceFormat)
	}
	if b, err := json.Marshal(in); err != nil || !bytes.Equal(b, bytes.TrimSpace(record)) {
		return Report{}, not("the file is not as the office wrote it")
	}
	sh := newShelf()
	w := newWalk(sh, sh.then)
	w.report.Store = in.Head.Store
	key := in.Heads
	switch {
	case ring != nil && key != ring.Heads:
		return w.report, not("the record names another key of the journal's heads than was given")
	case ring == nil:
		w.note("no keys were given: the key of the journal's head is taken from the record itself")
	}
	if in.Head.Verify(key) != nil {
		return w.report, not("the journal's head is not signed by its key")
	}
	w.report.Heads = 1
	if err := sh.fill(&in); err != nil {
		return w.report, err
	}
	w.report.Entries = len(in.Entries)
	if err := w.keys(trusted(ring)); err != nil {
		return w.report, err
	}
	certificate, ok := sh.states[in.Certificate]
	if !ok {
		return w.report, not("the certificate %s is not in its record", in.Certificate)
	}
	if err := w.visit(certificate.Parent); err != nil {
		return w.report, err
	}
	c, err := plant.ReadCertificate(certificate)
	if err != nil {
		return w.report, not("%v", err)
	}
	if !sh.approves(certificate) {
		return w.report, not("certificate %s: no approval that came before it or names it is in its record", c.Number)
	}
	if document == nil {
		return w.report, nil
	}
	sum := sha256.Sum256(document)
	if c.PDF == "" {
		w.note("certificate %s is drawn when somebody asks for it: its document has no hash on record", c.Number)
	} else if hex.EncodeToString(sum[:]) != c.PDF {
		return w.report, not("certificate %s: the document is not the one that was issued", c.Number)
	}
	return w.report, nil
}

// sortEntries puts entries into the order of the journal.
func sortEntries(list []store.Entry) {
	slices.SortFunc(list, func(a, b store.Entry) int { return int(a.Seq) - int(b.Seq) })
}
