package office

import (
	"cmp"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/calc/history"
	"gaugewright/sync/merge"
)

// Decision is what a person decided on an advice; the instrument's record keeps it.
type Decision struct {
	Accepted bool   `json:"accepted"`
	Was      int    `json:"was"`    // the interval then, months
	Months   int    `json:"months"` // the advised interval
	Action   string `json:"action"`
	Method   string `json:"method"`
	Reason   string `json:"reason"` // of the advice
	Chance   string `json:"chance"` // of being out when due, as it was shown; "" if unknown
	Due      string `json:"due"`    // the date that went with it
	Why      string `json:"why"`    // in the words of the person who decided
	By       string `json:"by"`     // from the change that carried it
	At       string `json:"at"`
}

// adviceField is the family of fields that hold decisions.
const adviceField = "advice."

func lastDecision(s *merge.State) (last *Decision) {
	for _, d := range decisions(s) {
		last = &d
	}
	return last
}

// decisions returns those of a record, oldest first.
func decisions(s *merge.State) (list []Decision) {
	for i := range s.Fields {
		f := &s.Fields[i]
		if !strings.HasPrefix(f.Name, adviceField) || len(f.Heads) == 0 {
			continue
		}
		var d Decision
		if json.Unmarshal(f.Heads[0].Value, &d) == nil {
			d.By, d.At = f.Heads[0].Author, f.Heads[0].Wall
			list = append(list, d)
		}
	}
	slices.SortFunc(list, func(a, b Decision) int { return strings.Compare(a.At, b.At) })
	return list
}

// Decided is the action for an instrument whose advice was decided on since its last test.
const Decided = "decided"

// Advice is the advice on an instrument's interval.
type Advice struct {
	ID       string    `json:"id"`
	Tag      string    `json:"tag"`
	Name     string    `json:"name"` // description
	Area     string    `json:"area"`
	Group    string    `json:"group"`
	Interval int       `json:"interval"` // months
	Due      string    `json:"due"`
	At       string    `json:"at"` // the day it is for: the due date, or today if that is past
	Action   string    `json:"action"`
	Months   int       `json:"months"`
	NewDue   string    `json:"new_due"` // what the due date would be
	Method   string    `json:"method"`
	Reason   string    `json:"reason"`
	Chance   *float64  `json:"chance"`     // of being out on that day; null if too little is known
	After    *float64  `json:"new_chance"` // on the new due date
	By       string    `json:"by"`         // source of the chance: forecast or group
	Bound    string    `json:"bound"`      // the day on which the forecast's chance passes its bound; "" if there is none
	Tests    int       `json:"tests"`
	Out      int       `json:"out"` // of them
	Last     *Tested   `json:"last"`
	Decision *Decision `json:"decision"` // the latest

	last *trial // Last, before it is shown
}

// advised is what is kept of an advice; the rest follows from the instrument and its past.
type advised struct {
	c                *card
	group            *group
	action           string
	interval, months int
	chance, after    float64 // NaN if it is not known
	out, tests       int
	minutes          int // of a test
	planned          bool
}

// kept returns what is kept of an advice.
func (a *Advice) kept(c *card, g *group) *advised {
	one := &advised{c: c, group: g, action: a.Action, interval: a.Interval, months: a.Months, chance: math.NaN(), after: math.NaN(),
		out: a.Out, tests: a.Tests}
	if a.Chance != nil {
		one.chance = *a.Chance
	}
	if a.After != nil {
		one.after = *a.After
	}
	return one
}

// rank orders by the chance of being out; what has none comes after all.
func (a *advised) rank() float64 {
	if math.IsNaN(a.chance) {
		return -1
	}
	return a.chance
}

// group is what is known of similar instruments.
type group struct {
	name    string
	trials  map[int]history.Trials // by days
	decays  map[int]*decay         // by months of the interval
	members []*advised
}

type decay struct {
	history.Decay
	ok bool
}

// of returns the group's reliability fitted for an interval.
func (g *group) of(months int) *decay {
	d, known := g.decays[months]
	if !known {
		list := make([]history.Trials, 0, len(g.trials))
		for _, t := range g.trials {
			list = append(list, t)
		}
		slices.SortFunc(list, func(a, b history.Trials) int { return a.Days - b.Days })
		d = &decay{}
		d.Decay, d.ok = history.FitDecay(history.LikeMonths(list, float64(months)))
		g.decays[months] = d
	}
	return d
}

// add counts, for each time without a test that began in tolerance, how the instrument was found.
func (g *group) add(list []trial, words []string) {
	for i := 1; i < len(list); i++ {
		began, _ := in(words[cmp.Or(list[i-1].left, list[i-1].verdict)])
		was, known := in(words[list[i].verdict])
		days := int(list[i].day - list[i-1].day)
		if !began || !known || days < 1 {
			continue
		}
		t := g.trials[days]
		t.Days = days
		if was {
			t.In++
		} else {
			t.Out++
		}
		g.trials[days] = t
	}
}

// groups are the similar instruments: by kind, maker and model, and by kind alone.
type groups map[string]*group

func modelOf(c *card) string { return strings.Join([]string{c.Kind, c.Manufacturer, c.Model}, "\n") }

func (gs groups) at(name string) *group {
	g := gs[name]
	if g == nil {
		g = &group{name: name, trials: map[int]history.Trials{}, decays: map[int]*decay{}}
		gs[name] = g
	}
	return g
}

// near returns the reliability of the nearest group that has enough results for an interval.
func (gs groups) near(c *card, months int) *decay {
	if d := gs.at(modelOf(c)).of(months); d.ok {
		return d
	}
	return gs.at(c.Kind).of(months)
}

// advise returns the advice on an instrument that has an interval, without its Last.
func (gs groups) advise(c *card, one *tested, words []string, today int) *Advice {
	a := &Advice{ID: c.ID, Tag: c.Tag, Name: c.Description, Area: c.Area, Group: gs.at(modelOf(c)).name, Interval: c.IntervalMonths,
		Due: c.Due, Decision: one.decision, last: one.last(), Tests: len(one.trials), Months: c.IntervalMonths}
	for i := range one.trials {
		if was, known := in(words[one.trials[i].verdict]); known && !was {
			a.Out++
		}
	}
	day := today
	if due, ok := document.ParseDate(c.Due); ok {
		day = max(due, today)
	}
	a.At, a.NewDue = dateOf(day), c.Due
	e := history.Evidence{Months: float64(c.IntervalMonths), Found: -1}
	if a.last != nil && !math.IsNaN(a.last.fraction) {
		e.Found = math.Abs(a.last.fraction)
	}
	near := gs.near(c, c.IntervalMonths)
	if near.ok {
		e.Group = near.Bears(aimedAt)
	}
	e.Forecast, _ = one.at(day)
	a.Chance, a.By = chance(one, near, day)
	adv := history.Advise(e)
	a.Action, a.Months, a.Method, a.Reason = adv.Action, adv.Months, adv.Method, adv.Reason
	bound := 0
	if e.Forecast.Known {
		bound = day + e.Forecast.Left
		a.Bound = dateOf(bound)
	}
	if a.Action != history.Keep && a.last != nil {
		due := history.Due(int(a.last.day), a.Months)
		if e.Forecast.Known && bound < due {
			due = max(bound, today)
		}
		a.NewDue = dateOf(due)
		a.After, _ = chance(one, near, max(due, today))
	}
	if d := a.Decision; d != nil && (a.last == nil || d.At[:min(len(d.At), 10)] >= dateOf(int(a.last.day))) && a.Action != history.Keep {
		a.Action = Decided
	}
	return a
}

// advice returns the advice on an instrument as lists show it, or nil if there is none.
func (t *tests) advice(id string) *Advice {
	m := &t.made
	kept := m.advice[id]
	if kept == nil {
		return nil
	}
	full := m.groups.advise(kept.c, t.known[id], t.words.texts, m.today)
	if full.last != nil {
		last := t.test(id, full.last)
		full.Last = &last
	}
	return full
}

// chance returns the larger of the chances that the forecast and the group give for a day.
func chance(one *tested, near *decay, day int) (p *float64, by string) {
	if b, out := one.at(day); b.Known {
		p, by = &out, history.ByForecast
	}
	if last := one.last(); near.ok && last != nil && day > int(last.day) {
		if out := near.OutAfter(float64(day-int(last.day)) / 30.436875); p == nil || out > *p {
			p, by = &out, history.ByGroup
		}
	}
	return p, by
}

func dateOf(day int) string {
	return time.Unix(int64(day)*86400, 0).UTC().Format(time.DateOnly)
}
