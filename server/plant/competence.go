package plant

import "slices"

// What somebody may do, as a Competence says it.
const (
	MayDo    = "do"    // the work itself
	MayCheck = "check" // review and approve it
	MayIssue = "issue" // authorise its certificate
)

// Competence is what somebody is authorised for, with the evidence (ISO/IEC 17025:2017, 6.2.5 and
// 6.2.6).
type Competence struct {
	ID       string   `json:"-"`
	Kind     string   `json:"kind"` // of instrument; "" for every kind
	May      []string `json:"may"`
	From     string   `json:"from"`
	Until    string   `json:"until"` // the last day; "" without an end
	Evidence string   `json:"evidence"`
}

// Covers says whether it authorises something with a kind of instrument on a day.
func (c *Competence) Covers(may, kind, day string) bool {
	return slices.Contains(c.May, may) && (c.Kind == "" || c.Kind == kind) &&
		c.From <= day && (c.Until == "" || day <= c.Until)
}

// MayOn says whether somebody is authorised for something with a kind of instrument on a day.
func (p *Person) MayOn(may, kind, day string) bool {
	return slices.ContainsFunc(p.Competences, func(c Competence) bool { return c.Covers(may, kind, day) })
}
