package office

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"sync"

	"gaugewright/server/certificates"
	"gaugewright/server/paper"
	"gaugewright/server/plant"
)

// ErrNotSigned is wrapped if a certificate has no signed record.
var ErrNotSigned = errors.New(
	"the certificate has no signed record: it is of an earlier version of the program",
)

// formsOf writes the record of a certificate, its code, and the machine-readable form if there is
// one: everything but the PDF.
func formsOf(in *certificates.Input) (record []byte, code paper.Code, xml []byte, err error) {
	if in.Office.Country != "" {
		if xml, err = certificates.Machine(*in); err != nil {
			return nil, code, nil, err
		}
	}
	record, code, err = certificates.Record(*in, xml)
	return record, code, xml, err
}

// signPaper signs the record of a certificate, and draws its sealed PDF.
func signPaper(in *certificates.Input, private ed25519.PrivateKey) (pdf []byte, err error) {
	record, code, xml, err := formsOf(in)
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

// kept stores bytes beside the records and returns their name.
func (o *Office) kept(b []byte) (string, error) {
	sum := sha256.Sum256(b)
	name := hex.EncodeToString(sum[:])
	return name, o.store.PutBlob(name, b)
}

// keepPaper stores all forms of a certificate and returns the fields that name them.
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

// redrawn gathers and signs the input for a certificate whose bytes were not kept. The office's
// first key signs it each time, so that the bytes are the same.
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

// SignedRecord returns the signed record of a certificate as a file (RFC 7515, flattened).
//
// Refuses: ErrNotSigned.
func (o *Office) SignedRecord(v *plant.Certificate) ([]byte, error) {
	kept, came, err := o.brought(v.ID, func(b Brought) string { return b.Record })
	if err == nil && came && kept == nil {
		err = ErrNotSigned
	}
	if came || err != nil {
		return kept, err
	}
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
	mu     sync.Mutex
	upTo   uint64 // the journal's entry up to which it is current
	file   []byte
	prints map[string]string // of the replaced certificates, by id: a certificate never changes
}

// List returns the signed public list of the office's keys and of the replaced certificates. It is
// rebuilt after something new in the journal.
func (o *Office) List() ([]byte, error) {
	o.list.mu.Lock()
	defer o.list.mu.Unlock()
	last, err := o.store.Last()
	if err != nil || o.list.file != nil && o.list.upTo == last {
		return o.list.file, err
	}
	l := paper.List{
		Format: paper.ListFormat, At: plant.Stamp(o.now()),
		Keys: []paper.Key{}, Replaced: []paper.Replaced{},
	}
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
	replaced := map[string]map[string]string{} // by visit and id: the number of the replacement
	for _, s := range states {
		c, err := plant.ReadCertificate(s)
		if Unreadable(err) {
			continue
		}
		if err != nil {
			return err
		}
		of, known := replaced[c.Parent]
		if !known {
			if of, err = o.replacedOf(c.Parent); err != nil {
				return err
			}
			replaced[c.Parent] = of
		}
		later := of[c.ID]
		if later == "" {
			continue
		}
		print, known := o.list.prints[c.ID]
		if !known {
			if print, err = o.printOf(&c); err != nil {
				return err
			}
			if o.list.prints == nil {
				o.list.prints = map[string]string{}
			}
			o.list.prints[c.ID] = print
		}
		if print != "" {
			l.Replaced = append(l.Replaced, paper.Replace(print, later))
		}
	}
	return nil
}

// replacedOf returns, by the id of a visit's certificates, the number of the one that replaced
// each.
func (o *Office) replacedOf(visit string) (map[string]string, error) {
	list, err := o.certificatesOf(visit)
	if err != nil && !Unreadable(err) {
		return nil, err
	}
	by := map[string]string{}
	for _, one := range list {
		by[one.ID] = one.ReplacedBy
	}
	return by, nil
}

// printOf returns the part of a certificate's record that is in its code, or "" for one that is not
// signed. It does not draw a certificate whose bytes were not kept, since anybody may ask for the
// list.
func (o *Office) printOf(c *plant.Certificate) (string, error) {
	if c.Signed == nil && c.Letterhead != nil {
		in, err := o.drawn(c)
		if err != nil {
			return "", err
		}
		record, _, _, err := formsOf(&in)
		if err != nil {
			return "", err
		}
		return paper.PrintToBe(record)
	}
	if c.Signed == nil {
		return "", nil
	}
	b, err := hex.DecodeString(c.Signed.Record)
	if err == nil && len(b) != sha256.Size {
		err = plant.ErrValue
	}
	if err != nil {
		return "", fmt.Errorf("certificate %s: field signed names no record: %w", c.Number, err)
	}
	return paper.Print(b), nil
}

// ReplacedBy returns the number of the certificate that replaced one, or "".
func (o *Office) ReplacedBy(c *plant.Certificate) (string, error) {
	list, err := o.replacedOf(c.Parent)
	return list[c.ID], err
}
