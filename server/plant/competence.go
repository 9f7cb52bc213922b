package plant

import "slices"

// What a Competence may authorise a person to do.
const (
	MayDo    = "do"    // the work itself
	MayCheck = "check" // review and approve it
	MayIssue = "issue" // authorise its certificate
)

// Competence is what a person is authorised for, with the evidence (ISO/IEC 17025:2017, 6.2.5 and
// 6.2.6).
type Competence struct {
	ID       string   `json:"-"`
	Kind     string   `json:"kind"` // of instrument; "" for every kind
	May      []string `json:"may"`
	From     string   `json:"from"`
	Until    string   `json:"until"` // the last day; "" for no end
	Evidence string   `json:"evidence"`
}

// Covers reports whether it authorises an activity on a kind of instrument on a day.
func (c *Competence) Covers(may, kind, day string) bool {
	return slices.Contains(c.May, may) && (c.Kind == "" || c.Kind == kind) &&
		c.From <= day && (c.Until == "" || day <= c.Until)
}

// MayOn reports whether a person is authorised for an activity on a kind of instrument on a day.
func (p *Person) MayOn(may, kind, day string) bool {
	return slices.ContainsFunc(p.Competences, func(c Competence) bool { return c.Covers(may, kind, day) })
}
