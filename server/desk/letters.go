package desk

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/report"
)

// ErrNobody is returned where a look-back has nobody to be told.
var ErrNobody = errors.New("no instrument of it is decided as one to tell of, to recall or to recalibrate")

// wayWords are the decisions in reports.
var wayWords = map[string]string{
	"": "not decided", "none": "no effect", "tell": "whose it is is told", "recall": "recalled", "recalibrate": "to be recalibrated",
}

// asks is what a letter asks for, by the decision.
var asks = map[string]string{
	"tell": "Please judge whether it matters for what it was used for.",
	"recall": "Please take it out of use now and return it to us. The certificate named here is no longer " +
		"to be relied on.",
	"recalibrate": "It has to be calibrated again. Please let us have it by the day named.",
}

func percent(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(math.Round(100**x), 'f', 0, 64)
}

// LookbackTable is every touched result of a look-back, with what was decided.
func (d *Desk) LookbackTable(v *LookbackView) *report.Table {
	t := &report.Table{Name: "results", None: "No result is touched.", Columns: []report.Column{
		{Name: "tag", Wide: 1.3}, {Name: "day", Wide: 1.2}, {Name: "run", Wide: 1}, {Name: "certificate", Wide: 1.3},
		{Name: "was", Wide: 1}, {Name: "is", Wide: 1}, {Name: "% of limit, was", Number: true, Wide: 0.9},
		{Name: "% of limit, is", Number: true, Wide: 0.9}, {Name: "readings changed", Number: true, Wide: 0.9},
		{Name: "taken where it was out", Number: true, Wide: 0.9}, {Name: "not calculated", Wide: 1.4},
	}}
	for i := range v.Instruments {
		x := &v.Instruments[i]
		for _, r := range x.Runs {
			t.Rows = append(t.Rows, []string{
				x.Tag, d.office.DateOf(r.Started), r.Label, r.Certificate, r.Before, r.After, percent(r.WorstBefore),
				percent(r.WorstAfter), strconv.Itoa(r.Readings), strconv.Itoa(r.Out), r.Fault,
			})
		}
	}
	return t
}

// DecisionTable is what was decided for each instrument of a look-back.
func (d *Desk) DecisionTable(v *LookbackView) *report.Table {
	t := &report.Table{Name: "decisions", None: "No instrument is touched.", Columns: []report.Column{
		{Name: "tag", Wide: 1.2}, {Name: "serial", Wide: 1.2}, {Name: "decision", Wide: 1.5}, {Name: "reason", Wide: 2.5},
		{Name: "owner", Wide: 1.4}, {Name: "by", Wide: 1.1}, {Name: "decided by", Wide: 1.4}, {Name: "closed", Wide: 1.1},
		{Name: "what was done", Wide: 2.2},
	}}
	for i := range v.Instruments {
		x := &v.Instruments[i]
		t.Rows = append(t.Rows, []string{
			x.Tag, x.Serial, wayWords[x.Way], x.Reason, x.Owned, x.Due, x.By, first(x.ClosedAt, 10), x.Note,
		})
	}
	return t
}

// UnreadTable is what could not be read.
func (d *Desk) UnreadTable(v *LookbackView) *report.Table {
	t := &report.Table{Name: "not read", None: "Everything could be read.", Columns: []report.Column{
		{Name: "visit", Wide: 1.4}, {Name: "tag", Wide: 1}, {Name: "day", Wide: 1}, {Name: "why", Wide: 4},
	}}
	for _, u := range v.Unread {
		t.Rows = append(t.Rows, []string{u.Visit, u.Tag, d.office.DateOf(u.Started), u.Why})
	}
	return t
}

// LookbackReport is a look-back as a report.
func (d *Desk) LookbackReport(v *LookbackView) (report.Report, error) {
	head, err := d.office.Letterhead()
	if err != nil {
		return report.Report{}, err
	}
	facts := [][2]string{
		{"Standard", v.Row.Name}, {"In doubt since", v.Row.Since}, {"How it was found", v.Row.Reason},
		{"Opened", first(v.Row.At, 10) + ", " + v.Row.By},
	}
	if f := v.Row.Found; f != nil {
		facts = append(
			facts, [2]string{"Results judged again", strconv.Itoa(f.Runs)},
			[2]string{"with another verdict", strconv.Itoa(f.Changed)},
			[2]string{"taken where it was out", strconv.Itoa(f.Suspect)},
			[2]string{"that cannot be calculated", strconv.Itoa(f.Faults)},
		)
	}
	facts = append(
		facts, [2]string{"Instruments touched", strconv.Itoa(v.Row.Touched)},
		[2]string{"not decided", strconv.Itoa(v.Row.Undecided)},
		[2]string{"decided and not closed", strconv.Itoa(v.Row.Open)},
	)
	return report.Report{
		Title: "A standard was out: " + v.Row.Name, Of: head.Name, Made: d.now(), Paper: head.Paper, Wide: true,
		Parts: []report.Part{
			{Facts: facts}, {Heading: "Decisions", Table: d.DecisionTable(v)},
			{Heading: "Results", Table: d.LookbackTable(v)},
			{Heading: "What could not be read", Table: d.UnreadTable(v)},
		},
	}, nil
}

// customerOf returns whose an instrument is: of its record, else of its site's, else the
// laboratory's usual one.
func (d *Desk) customerOf(id string, usual []string) ([]string, error) {
	i, err := plant.LoadInstrument(d.store, id)
	switch {
	case errors.Is(err, plant.ErrNotFound), errors.Is(err, plant.ErrKind), office.Unreadable(err):
		return usual, nil
	case err != nil:
		return nil, err
	case len(i.Customer) > 0:
		return i.Customer, nil
	}
	if i.Site == "" {
		return usual, nil
	}
	site, err := plant.LoadSite(d.store, i.Site)
	if err != nil && !errors.Is(err, plant.ErrNotFound) && !office.Unreadable(err) {
		return nil, err
	}
	if len(site.Customer) > 0 {
		return site.Customer, nil
	}
	return usual, nil
}

// Letters writes a letter to each of those concerned by a look-back, each on its own pages: those
// whose instruments are decided as ones to tell of, to recall or to recalibrate, and not closed.
//
// Refuses: ErrNobody.
func (d *Desk) Letters(v *LookbackView) (report.Report, error) {
	head, err := d.office.Letterhead()
	if err != nil {
		return report.Report{}, err
	}
	to := map[string][]*Touched{}
	for i := range v.Instruments {
		x := &v.Instruments[i]
		if asks[x.Way] == "" || x.Closed {
			continue
		}
		whose, err := d.customerOf(x.ID, head.Customer)
		if err != nil {
			return report.Report{}, err
		}
		key := strings.Join(whose, "\n")
		to[key] = append(to[key], x)
	}
	if len(to) == 0 {
		return report.Report{}, ErrNobody
	}
	var keys []string
	for k := range to {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	r := report.Report{
		Title: "Results that rest on " + v.Row.Name, Of: head.Name, Made: d.now(), Paper: head.Paper, Plain: true,
	}
	for _, k := range keys {
		r.Parts = append(r.Parts, d.letter(v, &head, k, to[k])...)
	}
	return r, nil
}

func (d *Desk) letter(v *LookbackView, head *office.Letterhead, whose string, list []*Touched) []report.Part {
	from := strings.Join(append([]string{head.Name}, head.Address...), ", ")
	open := []string{
		from, strings.ReplaceAll(cmp.Or(whose, "To whom it concerns"), "\n", ", "), d.now().Format("2 January 2006"),
	}
	parts := []report.Part{
		{NewPage: true, Text: open},
		{Heading: "Results that you have from us may be wrong", Text: []string{
			"Dear Sir or Madam,",
			fmt.Sprintf(
				"we found that a standard by which we tested instruments of yours, %s, was not as accurate as we thought. "+
					"It is in doubt since %s. How we found it: %s.",
				v.Row.Name, longDay(v.Row.Since), strings.TrimRight(v.Row.Reason, ". "),
			),
			"We have judged the results again with what we know now. The table names each instrument of yours that is " +
				"touched, its result as it was reported and as it is, and the certificate that states it. Below it " +
				"stands what we ask of you.",
		}},
	}
	t := &report.Table{Columns: []report.Column{
		{Name: "tag", Wide: 1.2}, {Name: "serial", Wide: 1.2}, {Name: "day", Wide: 1.2}, {Name: "run", Wide: 1},
		{Name: "certificate", Wide: 1.3}, {Name: "reported", Wide: 1}, {Name: "is", Wide: 1.2},
		{Name: "% of limit, was", Number: true}, {Name: "% of limit, is", Number: true},
	}}
	for _, x := range list {
		for _, run := range x.Runs {
			is := run.After
			if run.Fault != "" {
				is = "not known"
			}
			t.Rows = append(t.Rows, []string{
				x.Tag, x.Serial, d.office.DateOf(run.Started), run.Label, cmp.Or(run.Certificate, "none"), run.Before, is,
				percent(run.WorstBefore), percent(run.WorstAfter),
			})
		}
	}
	asked := report.Part{Heading: "What we ask of you"}
	for _, way := range Ways {
		var tags []string
		due := ""
		for _, x := range list {
			if x.Way == way {
				tags, due = append(tags, cmp.Or(x.Tag, x.Serial, x.ID)), max(due, x.Due)
			}
		}
		if len(tags) > 0 {
			asked.Text = append(asked.Text, fmt.Sprintf("%s: %s We deal with it by %s.", strings.Join(tags, ", "), asks[way], longDay(due)))
		}
	}
	return append(parts, report.Part{Table: t}, asked, report.Part{Text: []string{
		"If work that can hurt somebody rests on one of these instruments, stop relying on it until you have judged the " +
			"effect, by the rules that hold where you are.",
		"For questions turn to us and name the certificate. Yours faithfully", head.Name,
	}})
}

func longDay(date string) string {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return t.Format("2 January 2006")
}
