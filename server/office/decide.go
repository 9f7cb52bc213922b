package office

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/history"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// AdviceQuery selects advice on intervals.
type AdviceQuery struct {
	Action string // "" for all
	Group  string // "" for all
	From   int
	Most   int
}

// AdviceList is a page of the advice on intervals, the most likely out first.
type AdviceList struct {
	Reading *Progress `json:"reading,omitempty"`
	Rows    []Advice  `json:"rows"`
	Found   int       `json:"found"`
}

// Advices lists the advice on intervals.
func (o *Office) Advices(q AdviceQuery) (l AdviceList, err error) {
	reading, free, err := o.remember()
	if err != nil || reading != nil {
		return AdviceList{Reading: reading}, err
	}
	defer free()
	var found []*advised
	for _, a := range o.tests.made.advice {
		if (q.Action == "" || a.action == q.Action) && (q.Group == "" || a.group.name == q.Group) {
			found = append(found, a)
		}
	}
	slices.SortFunc(found, func(a, b *advised) int {
		return cmp.Or(cmp.Compare(b.rank(), a.rank()), strings.Compare(a.c.order, b.c.order), strings.Compare(a.c.ID, b.c.ID))
	})
	l.Found, l.Rows = len(found), []Advice{}
	for _, a := range found[min(max(q.From, 0), len(found)):] {
		if len(l.Rows) == q.Most {
			break
		}
		l.Rows = append(l.Rows, *o.tests.advice(a.c.ID))
	}
	return l, nil
}

// TestsQuery selects tests: those behind a figure.
type TestsQuery struct {
	By, Value string // one of RatesBy, and the value as in Rate
	Since     string
	Out       bool   // only tests that found the instrument out of tolerance
	Group     string // only tests of this group
	From      int
	Most      int
}

// TestRow is a test in a list.
type TestRow struct {
	Tested
	Tag string `json:"tag"`
	Who string `json:"who"`
}

// TestList is a page of the tests behind a figure, the latest first.
type TestList struct {
	Reading *Progress `json:"reading,omitempty"`
	Rows    []TestRow `json:"rows"`
	Found   int       `json:"found"`
}

// Tests lists the tests behind a figure.
//
// Refuses: ErrDate; a Fault for a By that is not in RatesBy.
func (o *Office) Tests(q TestsQuery) (l TestList, err error) {
	from := 0
	if q.Since != "" {
		day, ok := document.ParseDate(q.Since)
		if !ok {
			return l, fmt.Errorf("since: %w", ErrDate)
		}
		from = day
	}
	if q.By != "" && !slices.Contains(RatesBy, q.By) {
		return l, document.Refuse(document.CodeRange, "by", strconv.Quote(q.By)+" is nothing that rates are by")
	}
	names, err := o.Names()
	if err != nil {
		return l, err
	}
	reading, free, err := o.remember()
	if err != nil || reading != nil {
		return TestList{Reading: reading}, err
	}
	defer free()
	type ref struct {
		t *trial
		c *card
	}
	var found []ref
	words := o.tests.words.texts
	for id, one := range o.tests.known {
		c := o.index.gauges[id]
		if c == nil || q.Group != "" && modelOf(c) != q.Group {
			continue
		}
		for i := range one.trials {
			t := &one.trials[i]
			value := ratedBy(q.By, c, t, words)
			if q.By == "person" {
				value = Called(names, value)
			}
			was, known := in(words[t.verdict])
			if int(t.day) < from || q.By != "" && value != q.Value || q.Out && (was || !known) {
				continue
			}
			found = append(found, ref{t, c})
		}
	}
	slices.SortFunc(found, func(a, b ref) int {
		return cmp.Or(cmp.Compare(b.t.day, a.t.day), strings.Compare(a.c.Tag, b.c.Tag), bytes.Compare(a.t.id[:], b.t.id[:]))
	})
	l.Found, l.Rows = len(found), []TestRow{}
	at := min(max(q.From, 0), l.Found)
	for _, r := range found[at:min(at+q.Most, l.Found)] {
		l.Rows = append(l.Rows, o.tests.row(r.c, r.t, names))
	}
	return l, nil
}

// row returns a trial as a row of a list.
func (t *tests) row(c *card, one *trial, names map[string]string) TestRow {
	full := t.test(c.ID, one)
	return TestRow{full, c.Tag, Called(names, full.Person)}
}

// Band is the expected range of an instrument's worst point on a day.
type Band struct {
	Date string  `json:"date"`
	Mid  float64 `json:"mid"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// FoundAt is an error as found, or as left, at the worst point.
type FoundAt struct {
	Date  string  `json:"date"`
	Error float64 `json:"error"`
}

// Outlook is the past of one instrument and the forecast from it.
type Outlook struct {
	Reading   *Progress  `json:"reading,omitempty"`
	Advice    *Advice    `json:"advice"` // null if it has no interval, or is out of service
	Tag       string     `json:"tag"`
	Tests     []TestRow  `json:"tests"` // the latest first
	Unit      string     `json:"unit"`
	Point     string     `json:"point"` // the one most likely out; "" if no point has a forecast
	Limit     float64    `json:"limit"`
	Found     []FoundAt  `json:"found"`
	Ahead     []Band     `json:"ahead"`
	Decisions []Decision `json:"decisions"` // the latest first
}

// steps is how many days of a forecast are drawn.
const steps = 24

// Outlook returns the past of an instrument, the forecast and the decisions on its interval.
//
// Refuses: plant.ErrNotFound.
func (o *Office) Outlook(id string) (out Outlook, err error) {
	state, err := o.Record(id)
	if err != nil {
		return out, err
	}
	names, err := o.Names()
	if err != nil {
		return out, err
	}
	reading, free, err := o.remember()
	if err != nil || reading != nil {
		return Outlook{Reading: reading}, err
	}
	defer free()
	one, c := o.tests.known[id], o.index.gauges[id]
	if one == nil || c == nil {
		return out, fmt.Errorf("the instrument %q %w", id, plant.ErrNotFound)
	}
	out = Outlook{Tag: c.Tag, Unit: c.Range.Unit, Tests: []TestRow{},
		Found: []FoundAt{}, Ahead: []Band{}, Decisions: []Decision{}}
	out.Advice = o.tests.advice(id)
	for i := range slices.Backward(one.trials) {
		out.Tests = append(out.Tests, o.tests.row(c, &one.trials[i], names))
	}
	for _, d := range slices.Backward(decisions(&state)) {
		d.By = Called(names, d.By)
		out.Decisions = append(out.Decisions, d)
	}
	at := o.tests.made.today
	if due, ok := document.ParseDate(c.Due); ok {
		at = max(at, due)
	}
	p, err := o.tests.past(id) // memory holds no more than lists need
	if err != nil {
		return out, err
	}
	p.draw(&out, at)
	return out, nil
}

// draw adds the course of the worst point up to a day, and its forecast to that day and half as far
// again.
func (one *past) draw(out *Outlook, at int) {
	tails := history.NewTails(0.95, 1-aimedAt)
	courses, aheads := one.ahead(tails)
	worst, most := -1, -1.0
	for i, a := range aheads {
		if a == nil || courses[i].Limit <= 0 {
			continue
		}
		if p := a.Drift.Out(float64(at), courses[i].Limit); p > most {
			worst, most = i, p
		}
	}
	if worst < 0 {
		return
	}
	c := &courses[worst]
	out.Point, _ = c.Point.Text(12)
	out.Limit = c.Limit
	for _, r := range c.Results {
		out.Found = append(out.Found, FoundAt{dateOf(r.Day), r.Error})
	}
	from := c.Results[len(c.Results)-1].Day
	to := max(at+(at-from)/2, from+steps)
	for i := range steps + 1 {
		day := from + (to-from)*i/steps
		a, err := c.Ahead(day, tails)
		if err != nil {
			return
		}
		out.Ahead = append(out.Ahead, Band{dateOf(day), a.Predicted, a.Low, a.High})
	}
}

// Deciding is a decision on advice.
type Deciding struct {
	Instruments []string `json:"instruments"`
	Accept      bool     `json:"accept"`
	Why         string   `json:"why"`
	Shown       []string `json:"shown"` // for each instrument: action and months as shown, such as "extend 24"
}

// Decide stores a decision on advice. If the advice is accepted, it changes the intervals and due
// dates in one transaction, which is listed among the bulk changes and can be undone there.
//
// Refuses: ErrReason without a reason; ErrStale if an advice has changed.
func (o *Office) Decide(ctx context.Context, user string, d Deciding) (n int, err error) {
	if strings.TrimSpace(d.Why) == "" || len(d.Why) > MaxRemark {
		return 0, ErrReason
	}
	if len(d.Instruments) == 0 || len(d.Instruments) > maxBulk || len(d.Shown) != len(d.Instruments) {
		return 0, document.Refuse(document.CodeRange, "instruments",
			"from 1 to "+strconv.Itoa(maxBulk)+", each with what was shown of it")
	}
	advised, err := o.asShown(d)
	if err != nil {
		return 0, err
	}
	draft := func(drafter *plant.Drafter) (list []change.Change, _ []store.Step, err error) {
		b := Bulk{By: user, At: plant.Stamp(o.now())}
		for i := range advised {
			a := &advised[i]
			state, err := o.Record(a.ID)
			if err != nil {
				return nil, nil, err
			}
			sets, fields, err := a.sets(d)
			if err != nil {
				return nil, nil, err
			}
			one, _, err := drafter.Edit(state, o.now(), sets...)
			if err != nil {
				return nil, nil, err
			}
			list = append(list, one)
			if len(fields) > 0 {
				b.Parts = append(b.Parts, bulkPart{a.ID, one.ID, fields})
			}
		}
		n = len(list)
		if len(b.Parts) == 0 {
			return list, nil, nil
		}
		b.Count = len(b.Parts)
		if len(b.Parts) == 1 {
			b.Values.IntervalMonths = &advised[0].Months
		}
		if b.ID, err = change.NewID(rand.Reader); err != nil {
			return nil, nil, err
		}
		b.ID = strings.ReplaceAll(b.At, ":", "") + "_" + b.ID
		step, err := o.noteBulk(&b)
		return list, []store.Step{step}, err
	}
	return n, o.writer.writeNoted(ctx, user, draft, asSeen)
}

// asShown returns the advice to decide on, and refuses it if it is not as it was shown.
func (o *Office) asShown(d Deciding) (list []Advice, err error) {
	reading, free, err := o.remember()
	if err != nil {
		return nil, err
	}
	if reading != nil {
		return nil, ErrStale
	}
	defer free()
	for i, id := range d.Instruments {
		a := o.tests.advice(id)
		if a == nil || a.Action == history.Keep || a.Action == Decided ||
			d.Shown[i] != a.Action+" "+strconv.Itoa(a.Months) {
			return nil, ErrStale
		}
		list = append(list, *a)
	}
	return list, nil
}

// sets returns the fields that a decision writes into the instrument's record, and those of them
// that change the register.
func (a *Advice) sets(d Deciding) (sets []plant.Set, fields []Differing, err error) {
	id, err := change.NewID(rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	one := map[string]any{
		"accepted": d.Accept, "was": a.Interval, "months": a.Months, "action": a.Action, "method": a.Method,
		"reason": a.Reason, "due": a.NewDue, "why": strings.TrimSpace(d.Why),
	}
	if a.Chance != nil {
		one["chance"] = strconv.FormatFloat(*a.Chance, 'g', 3, 64)
	}
	sets = []plant.Set{{Field: adviceField + id, Value: one}}
	if !d.Accept {
		return sets, nil, nil
	}
	give := func(field string, before, after any) error {
		b, err := plant.Canonical(before)
		if err != nil {
			return err
		}
		c, err := plant.Canonical(after)
		if err != nil || string(b) == string(c) {
			return err
		}
		sets = append(sets, plant.Set{Field: field, Value: after})
		fields = append(fields, Differing{Field: field, Before: b, After: c})
		return nil
	}
	if err := give("interval_months", a.Interval, a.Months); err != nil {
		return nil, nil, err
	}
	var due any
	if a.Due != "" {
		due = a.Due
	}
	err = give("due", due, a.NewDue)
	return sets, fields, err
}
