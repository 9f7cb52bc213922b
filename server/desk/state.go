package desk

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/conformity"
	"gaugewright/server/office"
	"gaugewright/server/plant"
)

const (
	// weeksAhead is how many weeks the workload covers.
	weeksAhead = 8
	// longest is how many lines a list on the page has.
	longest = 25
)

// State is the state of the plant on a day.
type State struct {
	Date         string         `json:"date"`
	Instruments  int            `json:"instruments"` // in service
	OutOfService int            `json:"out_of_service"`
	Never        int            `json:"never"` // in service and never tested
	NoDate       int            `json:"no_date"`
	Overdue      int            `json:"overdue"`
	DueSoon      int            `json:"due_soon"` // within 30 days
	Failed       int            `json:"failed"`   // and open
	Undecided    int            `json:"undecided"`
	Waiting      int            `json:"waiting"`  // signed, to be reviewed
	Oldest       string         `json:"oldest"`   // the day on which the one waiting longest was signed
	Returned     int            `json:"returned"` // returned or reopened
	Conflicts    int            `json:"conflicts"`
	Rejected     int            `json:"rejected"` // entries in quarantine
	Standards    []StandardRow  `json:"standards"`
	Lookbacks    []LookbackRow  `json:"lookbacks"` // with something left to do
	Ending       []Ending       `json:"ending"`    // authorisations that end soon or have ended
	Areas        []AreaState    `json:"areas"`
	Weeks        []Week         `json:"weeks"`
	Late         []office.Gauge `json:"late"` // the longest overdue first
	Bad          []Bad          `json:"bad"`  // failed and open, then undecided
}

// AreaState counts the instruments of an area.
type AreaState struct {
	Area      string `json:"area"`
	InService int    `json:"in_service"`
	Overdue   int    `json:"overdue"`
	DueSoon   int    `json:"due_soon"`
	Failed    int    `json:"failed"`
}

// Week is how many instruments are due in a week, without the overdue ones.
type Week struct {
	From string `json:"from"` // a Monday, or today for the first
	Due  int    `json:"due"`
}

// Bad is an instrument whose latest result is a failure or undecided.
type Bad struct {
	Gauge   office.Gauge `json:"gauge"`
	Visit   string       `json:"visit"`
	Tested  string       `json:"tested"`
	Verdict string       `json:"verdict"` // fail or undecided
}

// Ending is an authorisation that ends soon or has ended.
type Ending struct {
	Name  string `json:"name"`
	Kind  string `json:"kind"`
	Until string `json:"until"`
	State string `json:"state"` // soon or ended
}

// dueSoonDays is the month that a plan covers. Common practice, no source.
const dueSoonDays = 30

// State compiles the state of the plant today.
func (d *Desk) State() (out State, err error) {
	open, err := d.office.OpenBriefs()
	if err != nil {
		return out, err
	}
	out.Date = d.today()
	out.Late, out.Bad, out.Areas = []office.Gauge{}, []Bad{}, []AreaState{}
	d.waiting(open, &out)
	areas := map[string]*AreaState{}
	d.weeks(&out)
	if err := d.office.Standing(func(g *office.Gauge, last *office.Brief) { d.count(g, last, areas, &out) }); err != nil {
		return out, err
	}
	for _, a := range areas {
		out.Areas = append(out.Areas, *a)
	}
	slices.SortFunc(out.Areas, func(a, b AreaState) int {
		return cmp.Or(cmp.Compare(b.Overdue+b.Failed, a.Overdue+a.Failed), strings.Compare(a.Area, b.Area))
	})
	slices.SortFunc(out.Late, func(a, b office.Gauge) int {
		return cmp.Or(strings.Compare(a.Due, b.Due), strings.Compare(a.Tag, b.Tag))
	})
	slices.SortFunc(out.Bad, func(a, b Bad) int {
		return cmp.Or(strings.Compare(a.Verdict, b.Verdict), strings.Compare(a.Tested, b.Tested), strings.Compare(a.Visit, b.Visit))
	})
	out.Late, out.Bad = out.Late[:min(longest, len(out.Late))], out.Bad[:min(longest, len(out.Bad))]
	return out, d.beside(&out)
}

// waiting counts the visits that wait for the office.
func (d *Desk) waiting(briefs []office.Brief, out *State) {
	for i := range briefs {
		switch b := &briefs[i]; b.Status {
		case plant.Signed:
			out.Waiting++
			if day := d.office.DateOf(b.Signed); out.Oldest == "" || day < out.Oldest {
				out.Oldest = day
			}
		case plant.Returned, plant.Reopened:
			out.Returned++
		}
	}
}

// weeks starts the workload: today to Sunday, and the weeks after that.
func (d *Desk) weeks(out *State) {
	day := d.now()
	out.Weeks = []Week{{From: day.Format(time.DateOnly)}}
	monday := day.AddDate(0, 0, (8-int(day.Weekday()))%7)
	if day.Weekday() == time.Monday {
		monday = day.AddDate(0, 0, 7)
	}
	for range weeksAhead - 1 {
		out.Weeks = append(out.Weeks, Week{From: monday.Format(time.DateOnly)})
		monday = monday.AddDate(0, 0, 7)
	}
}

// verdictOf is the verdict that counts for a visit: as left, else as found.
func verdictOf(b *office.Brief) string { return cmp.Or(b.Left, b.Found) }

// bad reports whether a result is an open failure, or undecided.
func bad(b *office.Brief) string {
	switch v := verdictOf(b); {
	case b.Open, failed(v):
		return conformity.Fail
	case v == conformity.Undecided:
		return v
	}
	return ""
}

func (d *Desk) count(g *office.Gauge, last *office.Brief, areas map[string]*AreaState, out *State) {
	if g.Status != "in service" {
		out.OutOfService++
		return
	}
	area := areas[g.Area]
	if area == nil {
		area = &AreaState{Area: g.Area}
		areas[g.Area] = area
	}
	out.Instruments++
	area.InService++
	if last == nil {
		out.Never++
	} else if verdict := bad(last); verdict != "" {
		out.Bad = append(out.Bad, Bad{Gauge: *g, Visit: last.ID, Tested: d.office.DateOf(last.Started), Verdict: verdict})
		if verdict == conformity.Fail {
			out.Failed++
			area.Failed++
		} else {
			out.Undecided++
		}
	}
	end := d.now().AddDate(0, 0, 7*weeksAhead-int((d.now().Weekday()+6)%7)).Format(time.DateOnly)
	switch {
	case g.Due == "":
		out.NoDate++
		return
	case g.Due < out.Date:
		out.Overdue++
		area.Overdue++
		out.Late = append(out.Late, *g)
		return
	case g.Due <= d.in(dueSoonDays):
		out.DueSoon++
		area.DueSoon++
	}
	if g.Due >= end {
		return
	}
	for i := len(out.Weeks) - 1; i >= 0; i-- {
		if g.Due >= out.Weeks[i].From {
			out.Weeks[i].Due++
			return
		}
	}
}

// beside adds everything that is not an instrument.
func (d *Desk) beside(out *State) error {
	standards, err := d.Standards()
	if err != nil {
		return err
	}
	out.Standards = slices.DeleteFunc(standards, func(r StandardRow) bool { return r.State == Valid || r.State == OutOfUse })
	lookbacks, err := d.Lookbacks()
	if err != nil {
		return err
	}
	out.Lookbacks = slices.DeleteFunc(lookbacks, func(r LookbackRow) bool { return r.Closed })
	people, err := d.office.Competences()
	if err != nil {
		return err
	}
	out.Ending = []Ending{}
	for _, p := range people {
		for _, a := range p.Has {
			if p.Access && (a.State == "soon" || a.State == "ended") {
				out.Ending = append(out.Ending, Ending{p.Name, a.Kind, a.Until, a.State})
			}
		}
	}
	contested, more, err := d.office.Contested()
	if err != nil {
		return err
	}
	out.Conflicts = len(contested) + more
	out.Rejected, err = d.store.HeldCount()
	return err
}
