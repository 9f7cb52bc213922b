package paper

import (
	"bytes"
	"strings"
)

// Found is what a check of one file or code found valid.
type Found struct {
	Code   *Code  // nil for a record alone
	Number string // of the certificate
	What   string // what was checked, in words
	Notes  []string
}

// Check checks a file, or the text of a code, against the laboratory's keys: a PDF with its seal,
// its machine-readable form, its record with the signature, or a code.
//
// Takes:   its bytes; the list of keys and of replaced certificates.
// Gives:   what is valid, with notes on a key out of use and on a replacement.
// Refuses: ErrNot, statement.ErrSignature or ErrCode with the first fault.
func Check(b []byte, l *List) (Found, error) {
	switch {
	case bytes.HasPrefix(b, []byte("%PDF")):
		return checkPDF(b, l)
	case bytes.HasPrefix(b, []byte("<?xml")):
		pdf, bare, number, err := opened(b)
		if err != nil {
			return Found{}, err
		}
		f, err := checkPDF(pdf, l)
		if err != nil {
			return f, err
		}
		own, _, _, err := readSeal(pdf, l.Keys)
		if err == nil && (own.XML != hashOf(bare) || number != f.Number) {
			err = not("the XML was altered after it was signed")
		}
		f.What = "the XML, and the paper in it"
		return f, err
	case bytes.HasPrefix(b, []byte("{")):
		s, err := ReadFile(b)
		if err != nil {
			return Found{}, err
		}
		return checkRecord(&s, l)
	}
	text := strings.TrimSpace(string(b))
	c, by, err := ReadCode(text, l.Keys)
	if err != nil {
		return Found{}, err
	}
	f := Found{Code: &c, Number: c.Number, What: "the code on the paper"}
	return f, f.notes(by, c.Date, c.Print, l)
}

// notes adds notes to what is valid.
//
// Refuses: ErrNot if the key was out of use on the date of issue.
func (f *Found) notes(by Key, date, print string, l *List) error {
	if len(by.Until) >= 10 && date > by.Until[:10] {
		return not("the key that signed it was out of use when it was issued: %s, %s", by.Until, by.Why)
	}
	if by.Until != "" {
		f.Notes = append(f.Notes, "the key that signed it has been out of use since "+by.Until+": "+by.Why)
	}
	if later := l.Find(print); later != "" {
		f.Notes = append(f.Notes, "it is no longer valid: certificate "+later+" replaces it")
	}
	return nil
}

func checkPDF(b []byte, l *List) (f Found, err error) {
	own, pdf, by, err := readSeal(b, l.Keys)
	if err != nil {
		return f, err
	}
	c, _, err := ReadCode(own.Code, l.Keys)
	if err != nil {
		return f, err
	}
	files, err := attached(pdf)
	if err != nil {
		return f, err
	}
	var record *Signed
	for _, file := range files {
		switch {
		case hashOf(file) == own.Record:
			record = &Signed{Record: file}
		case record != nil && bytes.Contains(file, []byte("..")) && record.Signature == "":
			record.Signature = string(file)
		case hashOf(file) != own.XML:
			return f, not("a file in the PDF is none that its seal names")
		}
	}
	if record == nil {
		return f, not("the record that the seal names is not in the PDF")
	}
	r, err := checkRecord(record, l)
	if err != nil {
		return f, err
	}
	if r.Number != c.Number || PrintOf(record.Record) != c.Print {
		return f, not("the code and the record are of two certificates")
	}
	f = Found{Code: &c, Number: c.Number, What: "the PDF, the record and the form for machines in it, and its code"}
	return f, f.notes(by, c.Date, c.Print, l)
}

func checkRecord(s *Signed, l *List) (f Found, err error) {
	by, err := signedBy(s.Signature, s.Record, l.Keys)
	if err != nil {
		return f, err
	}
	r, err := readRecord(s.Record)
	if err != nil {
		return f, err
	}
	f = Found{Number: r.Certificate.Number, What: "the record"}
	if err := f.notes(by, r.Certificate.Issued, PrintOf(s.Record), l); err != nil {
		return f, err
	}
	if r.Replaces != "" {
		f.Notes = append(f.Notes, "it replaces certificate "+r.Replaces)
	}
	return f, nil
}
