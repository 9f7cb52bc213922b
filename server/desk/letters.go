package desk

import (
	"cmp"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/rounding"
	"gaugewright/server/german"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/server/report"
)

// ErrNobody is returned if a look-back has nobody to write to.
var ErrNobody = errors.New("no instrument of it is decided as one to tell of, to recall or to recalibrate")

// wayWords are the decisions in reports.
var wayWords = map[string]string{
	"": "not decided", "none": "no effect", "tell": "whose it is is told", "recall": "recalled", "recalibrate": "to be recalibrated",
}

// asks is what a letter asks for, by decision.
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
	return rounding.OfLimit(*x)
}

// LookbackTable lists every touched result of a look-back, with its decision.
func (d *Desk) LookbackTable(v *LookbackView) *report.Table {
	t := &report.Table{Name: "results", None: "No result is touched.", Columns: []report.Column{
		{Name: "tag", Wide: 1.3}, {Name: "day", Wide: 1.2}, {Name: "run", Wide: 1.2, Word: true},
		{Name: "certificate", Wide: 1.3}, {Name: "was", Wide: 1.1, Word: true}, {Name: "is", Wide: 1.1, Word: true}, {Name: "% of limit, was", Number: true, Wide: 0.9},
		{Name: "% of limit, is", Number: true, Wide: 0.9}, {Name: "readings changed", Number: true, Wide: 0.9},
		{Name: "taken where it was out", Number: true, Wide: 0.9}, {Name: "not calculated", Wide: 1.4, Word: true},
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

// DecisionTable lists the decision for each instrument of a look-back.
func (d *Desk) DecisionTable(v *LookbackView) *report.Table {
	t := &report.Table{Name: "decisions", None: "No instrument is touched.", Columns: []report.Column{
		{Name: "tag", Wide: 1.2}, {Name: "serial", Wide: 1.2}, {Name: "decision", Wide: 1.5, Word: true}, {Name: "reason", Wide: 2.5},
		{Name: "owner", Wide: 1.4}, {Name: "by", Wide: 1.1}, {Name: "decided by", Wide: 1.4}, {Name: "closed on", Wide: 1.1},
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

// UnreadTable lists what could not be read.
func (d *Desk) UnreadTable(v *LookbackView) *report.Table {
	t := &report.Table{Name: "not read", None: "Everything could be read.", Columns: []report.Column{
		{Name: "visit", Wide: 1.4}, {Name: "tag", Wide: 1}, {Name: "day", Wide: 1}, {Name: "why", Wide: 4, Word: true},
	}}
	for _, u := range v.Unread {
		t.Rows = append(t.Rows, []string{u.Visit, u.Tag, d.office.DateOf(u.Started), u.Why})
	}
	return t
}

// LookbackReport is a look-back as a report in a language; "" is that of the laboratory.
func (d *Desk) LookbackReport(v *LookbackView, language string) (report.Report, error) {
	head, err := d.office.Letterhead()
	if err != nil {
		return report.Report{}, err
	}
	language = cmp.Or(language, head.Language)
	facts := [][2]string{
		{"Standard", v.Row.Name}, {"In doubt since", longDay(language, v.Row.Since)}, {"How it was found", v.Row.Reason},
		{"Opened", longDay(language, first(v.Row.At, 10)) + ", " + v.Row.By},
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
		Title: german.In(language, "A standard was out: {}", v.Row.Name), Of: head.Name, Made: d.now(), Paper: head.Paper,
		Language: spoken(language), Wide: true,
		Parts: []report.Part{
			{Facts: facts}, {Heading: "Decisions", Table: d.DecisionTable(v)},
			{Heading: "Results", Table: d.LookbackTable(v)},
			{Heading: "What could not be read", Table: d.UnreadTable(v)},
		},
	}, nil
}

// whom is the addressee of a letter: lines of name and address, and their language.
type whom struct{ address, language string }

// customerOf returns whose an instrument is: of its record, else of its site's, else the
// laboratory's usual one; in the language of its certificates.
func (d *Desk) customerOf(id string, head *office.Letterhead) (whom, error) {
	to := whom{strings.Join(head.Customer, "\n"), head.Language}
	i, err := plant.LoadInstrument(d.store, id)
	switch {
	case errors.Is(err, plant.ErrNotFound), errors.Is(err, plant.ErrKind), office.Unreadable(err):
		return to, nil
	case err != nil:
		return to, err
	}
	if i.Site != "" {
		site, err := plant.LoadSite(d.store, i.Site)
		if err != nil && !errors.Is(err, plant.ErrNotFound) && !office.Unreadable(err) {
			return to, err
		}
		if len(site.Customer) > 0 {
			to.address = strings.Join(site.Customer, "\n")
		}
	}
	if to.language, err = head.Speaks(d.store, i.Language, i.Site); err != nil {
		return to, err
	}
	if len(i.Customer) > 0 {
		to.address = strings.Join(i.Customer, "\n")
	}
	return to, nil
}

// spoken is the language of a report, "" for English.
func spoken(language string) string {
	if language == german.Code {
		return language
	}
	return ""
}

// Letters writes a letter to each owner concerned by a look-back, each on its own pages: those with
// an instrument that is not closed and is decided as one to tell of, to recall or to recalibrate.
//
// Refuses: ErrNobody.
func (d *Desk) Letters(v *LookbackView) (report.Report, error) {
	head, err := d.office.Letterhead()
	if err != nil {
		return report.Report{}, err
	}
	to := map[whom][]*Touched{}
	for i := range v.Instruments {
		x := &v.Instruments[i]
		if asks[x.Way] == "" || x.Closed {
			continue
		}
		whose, err := d.customerOf(x.ID, &head)
		if err != nil {
			return report.Report{}, err
		}
		to[whose] = append(to[whose], x)
	}
	if len(to) == 0 {
		return report.Report{}, ErrNobody
	}
	keys := slices.SortedFunc(maps.Keys(to), func(a, b whom) int {
		return cmp.Or(strings.Compare(a.address, b.address), strings.Compare(a.language, b.language))
	})
	r := report.Report{
		Title: german.In(head.Language, "Results that rest on {}", v.Row.Name), Of: head.Name, Made: d.now(),
		Paper: head.Paper, Language: spoken(head.Language), Plain: true,
	}
	for _, k := range keys {
		r.Parts = append(r.Parts, d.letter(v, &head, k, to[k])...)
	}
	return r, nil
}

func (d *Desk) letter(v *LookbackView, head *office.Letterhead, whose whom, list []*Touched) []report.Part {
	say := func(text string, values ...string) string { return german.In(whose.language, text, values...) }
	day := func(date string) string { return longDay(whose.language, date) }
	from := strings.Join(append([]string{head.Name}, head.Address...), ", ")
	open := []string{
		from, strings.ReplaceAll(cmp.Or(whose.address, say("To whom it concerns")), "\n", ", "),
		day(d.now().Format(time.DateOnly)),
	}
	parts := []report.Part{
		{NewPage: true, Text: open},
		{Heading: say("Results that you have from us may be wrong"), Text: []string{
			say("Dear Sir or Madam,"),
			say("we found that a standard by which we tested instruments of yours, {}, was not as accurate as we thought. "+
				"It is in doubt since {}. How we found it: {}.",
				v.Row.Name, day(v.Row.Since), strings.TrimRight(v.Row.Reason, ". ")),
			say("We have judged the results again with what we know now. The table names each instrument of yours that is " +
				"touched, its result as it was reported and as it is, and the certificate that states it. Below it " +
				"stands what we ask of you."),
		}},
	}
	t := &report.Table{}
	for _, c := range []report.Column{
		{Name: "tag", Wide: 1.75}, {Name: "serial", Wide: 1.9}, {Name: "day", Wide: 1.6}, {Name: "run", Wide: 1.5},
		{Name: "certificate", Wide: 1.75}, {Name: "reported", Wide: 1.3}, {Name: "is", Wide: 1.35},
		{Name: "% of limit, was", Number: true, Wide: 1.1}, {Name: "% of limit, is", Number: true, Wide: 1.1},
	} {
		c.Name = say(c.Name)
		t.Columns = append(t.Columns, c)
	}
	for _, x := range list {
		for _, run := range x.Runs {
			is := plant.VerdictWords(run.After)
			if run.Fault != "" {
				is = "not known"
			}
			t.Rows = append(t.Rows, []string{
				x.Tag, x.Serial, d.office.DateOf(run.Started), say(run.Label), cmp.Or(run.Certificate, say("no certificate")),
				say(plant.VerdictWords(run.Before)), say(is), percent(run.WorstBefore), percent(run.WorstAfter),
			})
		}
	}
	asked := report.Part{Heading: say("What we ask of you")}
	for _, way := range Ways {
		var tags []string
		due := ""
		for _, x := range list {
			if x.Way == way {
				tags, due = append(tags, cmp.Or(x.Tag, x.Serial, x.ID)), max(due, x.Due)
			}
		}
		if len(tags) > 0 {
			asked.Text = append(asked.Text, say("{}: {} We deal with it by {}.", strings.Join(tags, ", "), say(asks[way]), day(due)))
		}
	}
	return append(parts, report.Part{Table: t}, asked, report.Part{Text: []string{
		say("If work that can hurt somebody rests on one of these instruments, stop relying on it until you have judged the " +
			"effect, by the rules that hold where you are."),
		say("For questions turn to us and name the certificate. Yours faithfully"), head.Name,
	}})
}

// longDay writes a day in the form of a letter in a language.
func longDay(language, date string) string {
	t, err := time.Parse(time.DateOnly, date)
	switch {
	case err != nil:
		return date
	case language == german.Code:
		return german.Day(t)
	}
	return t.Format("2 January 2006")
}
