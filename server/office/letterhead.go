package office

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"gaugewright/server/dcc"
	"gaugewright/sync/store"
)

// ErrLetterhead is wrapped where a letterhead does not say enough, or too much.
var ErrLetterhead = errors.New("a certificate states the laboratory's name and address and the customer")

// Letterhead is what the office states on its certificates.
type Letterhead struct {
	Name     string   `json:"name"`
	Address  []string `json:"address"`
	Customer []string `json:"customer"`
	Country  string   `json:"country"` // of the laboratory, two letters of ISO 3166-1; "" for certificates without a form for machines
}

// maxLetterhead caps the lines of an address and the letters of a line: what fits a certificate's
// head.
const maxLetterhead, maxLine = 8, 80

// Letterhead returns what certificates state of the laboratory.
func (o *Office) Letterhead() (l Letterhead, err error) {
	b, err := o.store.Private("office").Get("letterhead")
	if err != nil || b == nil {
		return Letterhead{Address: []string{}, Customer: []string{}}, err
	}
	err = json.Unmarshal(b, &l)
	return l, err
}

// SetLetterhead changes the letterhead, for certificates from now on.
//
// Refuses: ErrLetterhead.
func (o *Office) SetLetterhead(l Letterhead, noted ...store.Step) (Letterhead, error) {
	l.Name, l.Country = strings.TrimSpace(l.Name), strings.ToUpper(strings.TrimSpace(l.Country))
	if l.Country != "" && !dcc.Country(l.Country) {
		return l, fmt.Errorf("%w: %q is no country; give its two letters of ISO 3166-1, such as NL", ErrLetterhead, l.Country)
	}
	for _, lines := range [][]string{{l.Name}, l.Address, l.Customer} {
		if len(lines) == 0 || len(lines) > maxLetterhead || slices.ContainsFunc(lines, func(x string) bool { return strings.TrimSpace(x) == "" || len(x) > maxLine }) {
			return l, fmt.Errorf("%w: from 1 to %d lines each, of 1 to %d letters", ErrLetterhead, maxLetterhead, maxLine)
		}
	}
	b, err := json.Marshal(l)
	if err != nil {
		return l, err
	}
	return l, o.store.Private("office").Put("letterhead", b, noted...)
}
