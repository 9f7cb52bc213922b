package desk

import (
	"cmp"
	"encoding/json"
	"slices"
	"strings"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// The states of a standard, those that need attention first.
const (
	CheckOut   = "check_out"  // its latest check does not agree, or is out of control
	Future     = "future"     // its calibration is dated after today
	Expired    = "expired"    // its due date is past
	NoDate     = "no_date"    // it has no due date
	Soon       = "soon"       // it is due within 60 days
	Valid      = "valid"      //
	OutOfUse   = "out"        // it is out of service
	Unreadable = "unreadable" // its record cannot be read
)

var ranks = []string{CheckOut, Future, Expired, Unreadable, NoDate, Soon, Valid, OutOfUse}

// StandardRow is a standard in the list of the desk.
type StandardRow struct {
	ID          string        `json:"id"`
	Name        string        `json:"name"`
	Serial      string        `json:"serial"`
	State       string        `json:"state"`
	Due         string        `json:"due"`
	Days        *int          `json:"days"` // until it is due; negative when overdue; null without a date
	Certificate string        `json:"certificate"`
	Ranges      []plant.Range `json:"ranges"`
	Kit         string        `json:"kit"`
	Medium      string        `json:"medium"`
	Cleaned     string        `json:"cleaned"`
	Place       string        `json:"place"`
	Person      string        `json:"person"` // name of the person who has it
	Since       string        `json:"since"`
	Used        string        `json:"used"` // the day on which it was last used
	UsedBy      string        `json:"used_by"`
	Checked     string        `json:"checked"` // the day of its latest check
	Lookbacks   int           `json:"lookbacks"`
}

// Standards lists the standards, those that need attention first, then by due date.
func (d *Desk) Standards() ([]StandardRow, error) {
	states, err := d.store.ByKind("standard", "", 0)
	if err != nil {
		return nil, err
	}
	names, err := d.office.Names()
	if err != nil {
		return nil, err
	}
	last, err := d.office.LastUses()
	if err != nil {
		return nil, err
	}
	open, err := d.openLookbacks()
	if err != nil {
		return nil, err
	}
	list := []StandardRow{}
	for _, s := range states {
		row, err := d.standardRow(s, names)
		if err != nil {
			return nil, err
		}
		if b, used := last[s.ID]; used {
			row.Used, row.UsedBy = d.office.DateOf(b.Started), office.Called(names, b.Person)
		}
		row.Lookbacks = open[s.ID]
		list = append(list, row)
	}
	slices.SortFunc(list, func(a, b StandardRow) int {
		return cmp.Or(
			cmp.Compare(slices.Index(ranks, a.State), slices.Index(ranks, b.State)),
			strings.Compare(a.Due, b.Due), strings.Compare(a.Name, b.Name), strings.Compare(a.ID, b.ID),
		)
	})
	return list, nil
}

func (d *Desk) standardRow(s merge.State, names map[string]string) (StandardRow, error) {
	v, err := plant.ReadStandard(s)
	if err != nil && !office.Unreadable(err) {
		return StandardRow{}, err
	}
	row := StandardRow{
		ID: s.ID, Name: v.Name, Serial: v.Serial, Due: first(v.Due, 10), Certificate: v.CertificateNo,
		Ranges: append([]plant.Range{}, v.Ranges...), Kit: v.Kit, Medium: v.Medium, Cleaned: v.Cleaned,
		Place: v.Where.Place, Since: v.Where.Since,
	}
	if err != nil {
		row.State = Unreadable
		return row, nil
	}
	if v.Where.Person != "" {
		row.Person = office.Called(names, v.Where.Person)
	}
	for _, c := range v.Checks {
		row.Checked = max(row.Checked, c.Date)
	}
	days, dated := d.daysTo(row.Due)
	if dated {
		row.Days = &days
	}
	charts, err := d.charts(s, &v)
	if err != nil {
		return row, err
	}
	row.State = d.stateOf(&v, charts, days, dated)
	return row, nil
}

func (d *Desk) stateOf(v *plant.Standard, charts []CheckChart, days int, dated bool) string {
	switch {
	case v.Status != "" && v.Status != "in service":
		return OutOfUse
	case slices.ContainsFunc(charts, func(c CheckChart) bool { return c.State == Out }):
		return CheckOut
	case first(v.Calibrated, 10) > d.today():
		return Future
	case !dated:
		return NoDate
	case days < 0:
		return Expired
	case days <= soonDays:
		return Soon
	}
	return Valid
}

// StandardView is one standard with what the desk derives from its record.
type StandardView struct {
	Row          StandardRow       `json:"row"`
	Certificates []CertificateView `json:"certificates"` // the newest first
	Charts       []CheckChart      `json:"charts"`
	Kit          []StandardRow     `json:"kit"` // the others in its kit
	People       []office.Colleague
}

// Standard returns one standard.
//
// Refuses: plant.ErrNotFound, plant.ErrKind, plant.ErrValue.
func (d *Desk) Standard(id string) (out StandardView, err error) {
	s, err := d.office.Record(id)
	if err != nil {
		return out, err
	}
	v, err := plant.ReadStandard(s)
	if err != nil {
		return out, err
	}
	rows, err := d.Standards()
	if err != nil {
		return out, err
	}
	out.Kit = []StandardRow{}
	for _, r := range rows {
		switch {
		case r.ID == id:
			out.Row = r
		case r.Kit != "" && strings.EqualFold(r.Kit, v.Kit):
			out.Kit = append(out.Kit, r)
		}
	}
	if out.Certificates, err = d.certificates(s, &v); err != nil {
		return out, err
	}
	if out.Charts, err = d.charts(s, &v); err != nil {
		return out, err
	}
	out.People, err = d.office.Colleagues()
	return out, err
}

// rangesOf are the ranges of a standard as they are on record.
func rangesOf(s *merge.State) (list []json.RawMessage) {
	b, ok := s.Value("ranges")
	if !ok || json.Unmarshal(b, &list) != nil {
		return nil
	}
	return list
}
