package office

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"sync"

	"gaugewright/server/certificates"
	"gaugewright/server/paper"
	"gaugewright/server/plant"
)

// ErrNotSigned is wrapped where a certificate has no signed record.
var ErrNotSigned = errors.New("the certificate has no signed record: it is of an earlier version of the program")

// signPaper signs the record of a certificate, and draws its sealed PDF.
func signPaper(in *certificates.Input, private ed25519.PrivateKey) (pdf []byte, err error) {
	var xml []byte
	if in.Office.Country != "" {
		if xml, err = certificates.Machine(*in); err != nil {
			return nil, err
		}
	}
	record, code, err := certificates.Record(*in, xml)
	if err != nil {
		return nil, err
	}
	signed, err := paper.SignRecord(private, record, code, xml)
	if err != nil {
		return nil, err
	}
	in.Signed = &signed
	if pdf, err = certificates.PDF(*in); err != nil {
		return nil, err
	}
	return signed.Seal(private, pdf)
}

// kept keeps bytes beside the records and returns their name.
func (o *Office) kept(b []byte) (string, error) {
	sum := sha256.Sum256(b)
	name := hex.EncodeToString(sum[:])
	return name, o.store.PutBlob(name, b)
}

// keepPaper keeps all forms of a certificate and returns the fields that name them.
func (o *Office) keepPaper(signed *paper.Signed, pdf []byte) (set []plant.Set, err error) {
	name, err := o.kept(pdf)
	if err != nil {
		return nil, err
	}
	set = []plant.Set{{Field: "pdf", Value: name}}
	if signed == nil {
		return set, nil
	}
	if signed.XML != nil {
		if name, err = o.kept(signed.XML); err != nil {
			return nil, err
		}
		set = append(set, plant.Set{Field: "machine", Value: name})
	}
	if name, err = o.kept(signed.Record); err != nil {
		return nil, err
	}
	return append(set, plant.Set{Field: "signed", Value: map[string]any{
		"record": name, "signature": signed.Signature, "code": signed.Code,
	}}), nil
}

// redrawn gathers and signs what a certificate without kept bytes is drawn from. The first of the
// office's keys signs it each time, so that it has the same bytes.
func (o *Office) redrawn(v *plant.Certificate) (in certificates.Input, pdf []byte, err error) {
	if in, err = o.drawn(v); err != nil {
		return in, nil, err
	}
	keys, err := o.writer.sealKeys()
	if err != nil {
		return in, nil, err
	}
	if len(keys) == 0 {
		pdf, err = certificates.PDF(in)
		return in, pdf, err
	}
	pdf, err = signPaper(&in, keys[0].private())
	return in, pdf, err
}

// SignedRecord gives the signed record of a certificate as a file (RFC 7515, flattened).
//
// Refuses: ErrNotSigned.
func (o *Office) SignedRecord(v *plant.Certificate) ([]byte, error) {
	if v.Signed == nil && v.Letterhead != nil {
		in, _, err := o.redrawn(v)
		if err != nil {
			return nil, err
		}
		if in.Signed != nil {
			return in.Signed.File(), nil
		}
	}
	if v.Signed == nil {
		return nil, ErrNotSigned
	}
	b, err := o.store.Blob(v.Signed.Record)
	if err != nil {
		return nil, err
	}
	s := paper.Signed{Record: b, Signature: v.Signed.Signature}
	return s.File(), nil
}

// listed is the newest list of keys and replaced certificates.
type listed struct {
	mu   sync.Mutex
	upTo uint64 // the journal's entry that it goes up to
	file []byte
}

// List gives the signed list of the office's keys and of the certificates that were replaced, for
// anybody. It is written anew when something came into the journal.
func (o *Office) List() ([]byte, error) {
	o.list.mu.Lock()
	defer o.list.mu.Unlock()
	last, err := o.store.Last()
	if err != nil || o.list.file != nil && o.list.upTo == last {
		return o.list.file, err
	}
	l := paper.List{Format: paper.ListFormat, At: plant.Stamp(o.now()), Keys: []paper.Key{}, Replaced: []paper.Replaced{}}
	secret, err := o.writer.sealKeys()
	if err != nil {
		return nil, err
	}
	if len(secret) == 0 {
		return nil, ErrNoKey
	}
	known, err := o.Keys()
	if err != nil {
		return nil, err
	}
	for _, k := range secret {
		one := paper.Key{Public: k.public(), From: k.Made}
		for i := range known {
			if end := known[i].Ended; end != nil && known[i].Public == one.Public {
				one.Until, one.Why = end.At, end.Why
			}
		}
		l.Keys = append(l.Keys, one)
	}
	if err := o.replacements(&l); err != nil {
		return nil, err
	}
	file, err := l.Sign(secret[len(secret)-1].private())
	if err == nil {
		o.list.upTo, o.list.file = last, file
	}
	return file, err
}

// ErrNoKey is returned at a hub, which signs nothing.
var ErrNoKey = errors.New("certificates are checked at the office: a hub has no key of it")

func (o *Office) replacements(l *paper.List) error {
	states, err := o.store.ByKind("certificate", "", 0)
	if err != nil {
		return err
	}
	type place struct{ visit, number string }
	by := map[place]string{}
	var list []plant.Certificate
	for _, s := range states {
		c, err := plant.ReadCertificate(s)
		if Unreadable(err) {
			continue
		}
		if err != nil {
			return err
		}
		list = append(list, c)
		if c.Replaces != "" {
			by[place{c.Parent, c.Replaces}] = c.Number
		}
	}
	for i := range list {
		c := &list[i]
		later := by[place{c.Parent, c.Number}]
		if later == "" {
			continue
		}
		print, err := o.printOf(c)
		if err != nil {
			return err
		}
		if print != "" {
			l.Replaced = append(l.Replaced, paper.Replace(print, later))
		}
	}
	return nil
}

// printOf returns what the code of a certificate has of its record, "" for one that is not signed.
func (o *Office) printOf(c *plant.Certificate) (string, error) {
	if c.Signed == nil && c.Letterhead != nil {
		in, _, err := o.redrawn(c)
		if err != nil || in.Signed == nil {
			return "", err
		}
		return paper.PrintOf(in.Signed.Record), nil
	}
	if c.Signed == nil {
		return "", nil
	}
	b, err := hex.DecodeString(c.Signed.Record)
	if err != nil {
		return "", nil
	}
	return paper.Print(b), nil
}

// ReplacedBy returns the number of the certificate that took the place of one, "" for none.
func (o *Office) ReplacedBy(c *plant.Certificate) (string, error) {
	list, err := o.certificatesOf(c.Parent)
	if err != nil {
		return "", err
	}
	for _, one := range list {
		if one.ID == c.ID {
			return one.ReplacedBy, nil
		}
	}
	return "", nil
}
