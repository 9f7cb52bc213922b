package office

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/server/certificates"
	"gaugewright/server/dcc"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// ErrLetterhead is wrapped if a letterhead says too little or too much.
var ErrLetterhead = errors.New("a certificate states the laboratory's name and address and the customer")

// Letterhead is what the office states on its certificates.
type Letterhead struct {
	Name     string   `json:"name"`
	Address  []string `json:"address"`
	Customer []string `json:"customer"`
	Country  string   `json:"country"`  // of the laboratory, two letters of ISO 3166-1; "": no machine-readable certificates
	Paper    string   `json:"paper"`    // A4 or letter
	Language string   `json:"language"` // of certificates unless another is chosen; one of certificates.Languages
	// Accreditation is stated on certificates within its scope; nil if there is none.
	Accreditation *plant.Accreditation `json:"accreditation"`
}

// Sheet is how a certificate is issued: at which address of the server phones find it, whether it
// states the laboratory's accreditation, and in which language it is, "" for that of its instrument or
// customer.
type Sheet struct {
	Base       string
	Accredited bool
	Language   string
}

// language returns that of a visit's certificate: the one chosen for it, else that of the
// instrument, else that of its site's customer, else the laboratory's usual one.
//
// Refuses: ErrLanguage for a choice that is none of certificates.Languages.
func (l *Letterhead) language(src plant.Source, visit *merge.State, sheet Sheet) (string, error) {
	chosen, err := certificates.LanguageOf(sheet.Language)
	if err != nil || chosen != "" {
		return chosen, err
	}
	own, err := instrumentsLanguage(src, visit)
	if err != nil {
		return "", err
	}
	return l.Speaks(src, own, visit.Site)
}

// instrumentsLanguage returns that of the record of the instrument of a visit, "" where it has none.
func instrumentsLanguage(src plant.Source, visit *merge.State) (string, error) {
	v, err := plant.ReadVisit(*visit)
	if Unreadable(err) || err == nil && v.Instrument == "" {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	i, err := plant.LoadInstrument(src, v.Instrument)
	if errors.Is(err, plant.ErrNotFound) || errors.Is(err, plant.ErrKind) || Unreadable(err) { // a standard has none
		return i.Language, nil
	}
	return i.Language, err
}

// Speaks returns the language of what is written for whom an instrument belongs to: its own, else
// that of the customer of its site, else the laboratory's. One that papers cannot be in is as none.
func (l *Letterhead) Speaks(src plant.Source, own, site string) (string, error) {
	if of, err := certificates.LanguageOf(own); err == nil && of != "" {
		return of, nil
	}
	if site != "" {
		at, err := plant.LoadSite(src, site)
		if err != nil && !errors.Is(err, plant.ErrNotFound) && !Unreadable(err) {
			return "", err
		}
		if of, err := certificates.LanguageOf(at.Language); err == nil && of != "" {
			return of, nil
		}
	}
	return l.Language, nil
}

// states returns what a certificate takes from a letterhead.
func (l *Letterhead) states(sheet Sheet, language string) certificates.Office {
	o := certificates.Office{
		Name: l.Name, Address: l.Address, Customer: l.Customer, Country: l.Country, Base: sheet.Base, Paper: l.Paper,
	}
	if language != certificates.English { // English is "", as it was when it was the only language
		o.Language = language
	}
	if sheet.Accredited {
		o.Accreditation = l.Accreditation
	}
	return o
}

// maxScope caps the characters of each part of an accreditation.
const maxScope = 300

func (l *Letterhead) accredited() error {
	a := l.Accreditation
	if a == nil {
		return nil
	}
	for _, part := range []*string{&a.Text, &a.Number, &a.Scope} {
		if *part = strings.TrimSpace(*part); len(*part) > maxScope {
			return fmt.Errorf("%w: a part of the accreditation has more than %d letters", ErrLetterhead, maxScope)
		}
	}
	if a.Text == "" || a.Number == "" {
		return fmt.Errorf("%w: an accreditation has a text and a number", ErrLetterhead)
	}
	return nil
}

// maxLetterhead caps the lines of an address, maxLine the characters of a line: what fits a
// certificate's head.
const maxLetterhead, maxLine = 8, 80

// Letterhead returns what certificates state about the laboratory.
func (o *Office) Letterhead() (l Letterhead, err error) {
	b, err := o.store.Private("office").Get("letterhead")
	if err == nil && b != nil {
		err = json.Unmarshal(b, &l)
	} else {
		l.Address, l.Customer = []string{}, []string{}
	}
	l.Paper, l.Language = cmp.Or(l.Paper, certificates.A4), cmp.Or(l.Language, certificates.English)
	return l, err
}

// SetLetterhead changes the letterhead, for certificates from now on.
//
// Refuses: ErrLetterhead.
func (o *Office) SetLetterhead(l Letterhead, noted ...store.Step) (Letterhead, error) {
	l.Name, l.Country = strings.TrimSpace(l.Name), strings.ToUpper(strings.TrimSpace(l.Country))
	if l.Country != "" && !dcc.Country(l.Country) {
		return l, fmt.Errorf(
			"%w: %q is no country; give its two letters of ISO 3166-1, such as NL", ErrLetterhead, l.Country,
		)
	}
	if l.Paper = cmp.Or(l.Paper, certificates.A4); l.Paper != certificates.A4 && l.Paper != certificates.Letter {
		return l, fmt.Errorf(
			"%w: paper %q is none of %s and %s", ErrLetterhead, l.Paper, certificates.A4, certificates.Letter,
		)
	}
	var err error
	if l.Language, err = certificates.LanguageOf(cmp.Or(l.Language, certificates.English)); err != nil {
		return l, fmt.Errorf("%w: language: %w", ErrLetterhead, err)
	}
	for _, lines := range [][]string{{l.Name}, l.Address, l.Customer} {
		if len(lines) == 0 || len(lines) > maxLetterhead ||
			slices.ContainsFunc(lines, func(x string) bool { return strings.TrimSpace(x) == "" || len(x) > maxLine }) {
			return l, fmt.Errorf(
				"%w: from 1 to %d lines each, of 1 to %d letters", ErrLetterhead, maxLetterhead, maxLine,
			)
		}
	}
	if err := l.accredited(); err != nil {
		return l, err
	}
	b, err := json.Marshal(l)
	if err != nil {
		return l, err
	}
	return l, o.store.Private("office").Put("letterhead", b, noted...)
}
