package desk

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/server/german"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/report"
)

// Month is the report of a month.
type Month struct {
	Month    string // 2026-03
	Visits   *report.Table
	Papers   *report.Table
	Areas    *report.Table
	People   *report.Table
	Failures *report.Table
	Report   report.Report
}

// tally counts results.
type tally struct{ visits, pass, fail, other int }

func (t *tally) add(found string) {
	t.visits++
	switch found {
	case conformity.Pass, conformity.ConditionalPass:
		t.pass++
	case conformity.Fail, conformity.ConditionalFail:
		t.fail++
	case "":
	default:
		t.other++
	}
}

// failed reports whether a verdict is a failure, conditional or not.
func failed(verdict string) bool {
	return verdict == conformity.Fail || verdict == conformity.ConditionalFail
}

func (t *tally) cells() []string {
	share := ""
	if n := t.pass + t.fail + t.other; n > 0 {
		share = strconv.FormatFloat(100*float64(t.pass)/float64(n), 'f', 1, 64)
	}
	return []string{strconv.Itoa(t.visits), strconv.Itoa(t.pass), strconv.Itoa(t.fail), strconv.Itoa(t.other), share}
}

func tallied(name, of string) *report.Table {
	return &report.Table{Name: name, Columns: []report.Column{
		{Name: of, Wide: 3}, {Name: "visits", Number: true}, {Name: "passed as found", Number: true},
		{Name: "failed as found", Number: true}, {Name: "not clear", Number: true},
		{Name: "passed, %", Number: true},
	}}
}

// Month compiles a month: the visits signed in it and the certificates issued in it. Its report is
// in language; "" is the laboratory's.
//
// Refuses: document.Fault if it is not a month.
func (d *Desk) Month(month, language string) (m Month, err error) {
	begin, err := time.Parse("2006-01", month)
	if err != nil || month > first(d.today(), 7) {
		return m, document.Refuse(document.CodeRange, "month", "a month such as 2026-03 is needed, not after this one")
	}
	head, err := d.office.Letterhead()
	if err != nil {
		return m, err
	}
	language = cmp.Or(language, head.Language)
	names, err := d.office.Names()
	if err != nil {
		return m, err
	}
	briefs, err := d.office.Briefs(month, month+"-99") // no day of the month sorts after that
	if err != nil {
		return m, err
	}
	of := map[string]*office.Gauge{}
	for i := range briefs {
		of[briefs[i].Instrument] = nil
	}
	if err := d.office.Standing(func(g *office.Gauge, _ *office.Brief) {
		if _, asked := of[g.ID]; asked {
			one := *g
			of[g.ID] = &one
		}
	}); err != nil {
		return m, err
	}
	m.Month = month
	m.Visits = &report.Table{Name: "visits", None: "No visit was signed.", Columns: []report.Column{
		{Name: "signed", Wide: 1.1}, {Name: "tag", Wide: 1.3}, {Name: "serial", Wide: 1.2}, {Name: "area", Wide: 1.5},
		{Name: "person", Wide: 1.5}, {Name: "as found", Wide: 1, Word: true}, {Name: "as left", Wide: 1, Word: true}, {Name: "state", Wide: 1.1, Word: true},
	}}
	m.Failures = &report.Table{Name: "failures", None: "None.", Columns: []report.Column{
		{Name: "day", Wide: 1.1}, {Name: "tag", Wide: 1.3}, {Name: "description", Wide: 2.4}, {Name: "as left", Wide: 1, Word: true},
		{Name: "what it means, by the approval", Wide: 4},
	}}
	all, byArea, byPerson := tally{}, map[string]*tally{}, map[string]*tally{}
	approved := 0
	for i := range briefs {
		b := &briefs[i]
		day := d.office.DateOf(b.Signed)
		if first(day, 7) != month {
			continue
		}
		g := of[b.Instrument]
		if g == nil { // a standard, which has its own certificates
			g = &office.Gauge{Tag: "(standard)"}
		}
		person := office.Called(names, b.Person)
		m.Visits.Rows = append(m.Visits.Rows, []string{day, g.Tag, g.Serial, g.Area, person, b.Found, b.Left, string(b.Status)})
		for _, t := range []*tally{&all, of2(byArea, g.Area), of2(byPerson, person)} {
			t.add(b.Found)
		}
		if b.Status == plant.Approved {
			approved++
		}
		if failed(b.Found) {
			effect := ""
			if v, err := plant.LoadVisit(d.store, b.ID); err == nil && v.Approval != nil {
				effect = v.Approval.Effect
			}
			m.Failures.Rows = append(m.Failures.Rows, []string{day, g.Tag, g.Description, b.Left, effect})
		}
	}
	m.Areas, m.People = tallied("areas", "area"), tallied("people", "person")
	fill(m.Areas, byArea)
	fill(m.People, byPerson)
	if err := d.papers(&m); err != nil {
		return m, err
	}
	state, err := d.State()
	if err != nil {
		return m, err
	}
	whole := all.cells()
	m.Report = report.Report{
		Title: german.In(language, "Monthly report, {}", monthOf(language, begin)), Of: head.Name, Made: d.now(),
		Paper: head.Paper, Language: spoken(language),
		Parts: []report.Part{
			{Heading: "The month", Facts: [][2]string{
				{"Visits signed", whole[0]}, {"of these approved", strconv.Itoa(approved)},
				{"Passed as found", whole[1]}, {"Failed as found", whole[2]}, {"Not clear", whole[3]},
				{"Passed, per cent", whole[4]}, {"Certificates issued", strconv.Itoa(len(m.Papers.Rows))},
			}},
			{Heading: "Failed as found", Table: m.Failures},
			{Heading: "By area", Table: m.Areas}, {Heading: "By person", Table: m.People},
			d.standing(&state, language), d.doubts(&state, language),
			{Heading: "Certificates issued", Table: m.Papers}, {Heading: "Visits", Table: m.Visits},
		},
	}
	return m, nil
}

func of2(m map[string]*tally, name string) *tally {
	if m[name] == nil {
		m[name] = &tally{}
	}
	return m[name]
}

// fill writes tallies, those with the most failures first.
func fill(t *report.Table, by map[string]*tally) {
	var names []string
	for n := range by {
		names = append(names, n)
	}
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(cmp.Compare(by[b].fail, by[a].fail), strings.Compare(a, b))
	})
	for _, n := range names {
		t.Rows = append(t.Rows, append([]string{cmp.Or(n, "no area")}, by[n].cells()...))
	}
	t.None = "None."
}

// papers lists the certificates issued in the month.
func (d *Desk) papers(m *Month) error {
	m.Papers = &report.Table{Name: "certificates", None: "None.", Columns: []report.Column{
		{Name: "issued", Wide: 1}, {Name: "number", Wide: 1}, {Name: "tag", Wide: 1}, {Name: "takes the place of", Wide: 1},
		{Name: "reason", Wide: 3},
	}}
	states, err := d.store.ByKind("certificate", "", 0)
	if err != nil {
		return err
	}
	for _, s := range states {
		c, err := plant.ReadCertificate(s)
		if err != nil {
			if office.Unreadable(err) {
				continue
			}
			return err
		}
		day := d.office.DateOf(c.Issued)
		if day == "" {
			day = first(c.Issued, 10)
		}
		if first(day, 7) != m.Month {
			continue
		}
		tag := ""
		if v, err := plant.LoadVisit(d.store, c.Parent); err == nil {
			tag = v.Item.Tag
		}
		m.Papers.Rows = append(m.Papers.Rows, []string{day, c.Number, tag, c.Replaces, c.Why})
	}
	slices.SortFunc(m.Papers.Rows, func(a, b []string) int { return strings.Compare(a[0]+a[1], b[0]+b[1]) })
	return nil
}

// standing is the state of the plant on the day of a report.
func (d *Desk) standing(s *State, language string) report.Part {
	n := strconv.Itoa
	t := &report.Table{Name: "state", Columns: []report.Column{
		{Name: "area", Wide: 3}, {Name: "in service", Number: true}, {Name: "overdue", Number: true},
		{Name: "due in 30 days", Number: true}, {Name: "failed and open", Number: true},
	}}
	for _, a := range s.Areas {
		t.Rows = append(t.Rows, []string{cmp.Or(a.Area, "no area"), n(a.InService), n(a.Overdue), n(a.DueSoon), n(a.Failed)})
	}
	return report.Part{
		Heading: german.In(language, "The plant on {}", longDay(language, s.Date)),
		Facts: [][2]string{
			{"Instruments in service", n(s.Instruments)}, {"Out of service", n(s.OutOfService)},
			{"Overdue", n(s.Overdue)}, {"Due within 30 days", n(s.DueSoon)}, {"Without a due date", n(s.NoDate)},
			{"Never tested", n(s.Never)}, {"Failed and open", n(s.Failed)}, {"Without a clear verdict", n(s.Undecided)},
			{"Visits to be reviewed", n(s.Waiting)}, {"Sent back or opened again", n(s.Returned)},
			{"Conflicts", n(s.Conflicts)}, {"Entries set aside", n(s.Rejected)},
		},
		Table: t,
	}
}

// doubts is what is in doubt about standards and people on the day of a report.
func (d *Desk) doubts(s *State, language string) report.Part {
	t := &report.Table{Name: "standards", None: "No standard is near its date or in doubt.", Columns: []report.Column{
		{Name: "standard", Wide: 3}, {Name: "state", Wide: 2, Word: true}, {Name: "due", Wide: 1.2}, {Name: "certificate", Wide: 1.5},
	}}
	for _, r := range s.Standards {
		t.Rows = append(t.Rows, []string{strings.TrimSpace(r.Name + " " + r.Serial), stateWords[r.State], r.Due, r.Certificate})
	}
	var text []string
	for _, l := range s.Lookbacks {
		text = append(text, german.In(language,
			"A look-back on {} is open since {}: {} instruments undecided, {} decided and not closed.",
			l.Name, longDay(language, first(l.At, 10)), strconv.Itoa(l.Undecided), strconv.Itoa(l.Open),
		))
	}
	for _, e := range s.Ending {
		text = append(text, german.In(language,
			"The authorisation of {} for {} ends or ended on {}.", e.Name,
			cmp.Or(e.Kind, german.In(language, "every kind of work")), longDay(language, e.Until),
		))
	}
	return report.Part{Heading: "Standards and people", Text: text, Table: t}
}

// stateWords are the states of standards in reports.
var stateWords = map[string]string{
	CheckOut: "latest check does not agree", Future: "calibration dated after today", Expired: "out of date",
	NoDate: "without a date", Soon: "due within 60 days", Valid: "in force", OutOfUse: "out of service", Unreadable: "cannot be read",
}

// Tables are the tables of a month in the order of a workbook.
func (m *Month) Tables() []*report.Table {
	return []*report.Table{m.Visits, m.Failures, m.Areas, m.People, m.Papers}
}

// monthOf names a month of a year.
func monthOf(language string, begin time.Time) string {
	if language == german.Code {
		_, name, _ := strings.Cut(german.Day(begin), " ")
		return name
	}
	return begin.Format("January 2006")
}

// StateReport is the page on the plant as a report in a language; "" is the laboratory's.
func (d *Desk) StateReport(language string) (report.Report, error) {
	s, err := d.State()
	if err != nil {
		return report.Report{}, err
	}
	head, err := d.office.Letterhead()
	if err != nil {
		return report.Report{}, err
	}
	language = cmp.Or(language, head.Language)
	late := &report.Table{Name: "overdue", None: "None.", Columns: []report.Column{
		{Name: "due", Wide: 1}, {Name: "tag", Wide: 1.2}, {Name: "description", Wide: 3}, {Name: "area", Wide: 2},
	}}
	for i := range s.Late {
		g := &s.Late[i]
		late.Rows = append(late.Rows, []string{g.Due, g.Tag, g.Description, g.Area})
	}
	open := &report.Table{Name: "open", None: "None.", Columns: []report.Column{
		{Name: "tested", Wide: 1}, {Name: "tag", Wide: 1.2}, {Name: "description", Wide: 3}, {Name: "area", Wide: 2}, {Name: "verdict", Wide: 1, Word: true},
	}}
	for i := range s.Bad {
		b := &s.Bad[i]
		open.Rows = append(open.Rows, []string{b.Tested, b.Gauge.Tag, b.Gauge.Description, b.Gauge.Area, plant.VerdictWords(b.Verdict)})
	}
	weeks := &report.Table{Name: "workload", Columns: []report.Column{{Name: "week from", Wide: 1}, {Name: "due", Number: true}, {Name: "", Wide: 4}}}
	for _, w := range s.Weeks {
		weeks.Rows = append(weeks.Rows, []string{w.From, strconv.Itoa(w.Due), ""})
	}
	return report.Report{
		Title: german.In(language, "State of the plant"), Of: head.Name, Made: d.now(), Paper: head.Paper,
		Language: spoken(language),
		Parts: []report.Part{
			d.standing(&s, language),
			{Heading: german.In(language, "Failed and open, or without a clear verdict (at most {})", strconv.Itoa(longest)), Table: open},
			{Heading: german.In(language, "Longest overdue (at most {})", strconv.Itoa(longest)), Table: late},
			{Heading: "Due by week", Table: weeks}, d.doubts(&s, language),
		},
	}, nil
}
