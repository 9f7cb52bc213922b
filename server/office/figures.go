package office

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/calc/history"
	"gaugewright/calc/numeric"
)

// Rate is how many tests found instruments in tolerance, with the Clopper-Pearson interval at 95 %.
type Rate struct {
	Value     string  `json:"value"` // a person's name
	Of        int     `json:"of"`
	Passed    int     `json:"passed"`
	Undecided int     `json:"undecided"` // not counted in Of
	Low       float64 `json:"low"`
	High      float64 `json:"high"`
}

// GroupAdvice is what the results of similar instruments say about their interval.
type GroupAdvice struct {
	Group    string         `json:"group"`   // kind, maker and model, a line each
	Members  int            `json:"members"` // in service, with an interval
	Interval int            `json:"interval"`
	Of       int            `json:"of"` // results that count
	Out      int            `json:"out"`
	Chance   *float64       `json:"chance"` // of being out after that interval; null if there are too few results
	Action   string         `json:"action"`
	Months   int            `json:"months"`
	Reason   string         `json:"reason"`
	Low      *float64       `json:"low"`     // the interval, months, by the bounds at 95 %
	High     *float64       `json:"high"`    // null: there is no upper bound
	Advised  map[string]int `json:"advised"` // members by the action of their own advice
}

// Cost is what the intervals cost and save.
type Cost struct {
	HoursNow   float64 `json:"hours_now"`  // a year
	HoursThen  float64 `json:"hours_then"` // if all advice is taken
	OutNow     float64 `json:"out_now"`    // instruments expected to be found out in a year
	OutThen    float64 `json:"out_then"`
	Known      int     `json:"known"`   // instruments with a known chance; OutNow and OutThen count these
	Planned    int     `json:"planned"` // instruments whose plan says how long a test takes
	All        int     `json:"all"`     // instruments in service with an interval
	UsualEach  int     `json:"usual_minutes"`
	ChanceMost float64 `json:"aimed_at"`
}

// Figures are what the results over the years say.
type Figures struct {
	Reading *Progress         `json:"reading,omitempty"` // the past is still being read; everything else is empty
	Since   string            `json:"since"`
	All     Rate              `json:"all"`
	Rates   map[string][]Rate `json:"rates"` // by one of RatesBy
	Actions map[string]int    `json:"actions"`
	Groups  []GroupAdvice     `json:"groups"`
	Worst   []Advice          `json:"worst"`
	Cost    Cost              `json:"cost"`
	Unread  int               `json:"unread"` // visits that cannot be read
}

// maxWorst caps the list of the worst instruments, maxRates the values of one kind of rate.
const maxWorst, maxRates = 50, 100

// made are the figures last calculated.
type made struct {
	turn, cursor uint64
	today        int
	advice       map[string]*advised
	groups       groups
	sinces       map[string]*Figures
}

// RatesBy names what rates can be broken down by.
var RatesBy = []string{"kind", "manufacturer", "area", "medium", "range", "method", "person"}

func ratedBy(by string, c *card, t *trial, words []string) string {
	switch by {
	case "kind":
		return c.Kind
	case "manufacturer":
		return c.Manufacturer
	case "area":
		return c.Area
	case "medium":
		return c.Medium
	case "range":
		return c.reach
	case "method":
		return words[t.method]
	case "person":
		return words[t.person]
	}
	return ""
}

// Figures returns the figures of the tests since a date, or of all for "".
//
// Refuses: ErrDate.
func (o *Office) Figures(since string) (*Figures, error) {
	from := 0
	if since != "" {
		day, ok := document.ParseDate(since)
		if !ok {
			return nil, fmt.Errorf("since: %w", ErrDate)
		}
		from = day
	}
	reading, free, err := o.remember()
	if err != nil || reading != nil {
		return &Figures{Reading: reading}, err
	}
	defer free()
	m := &o.tests.made
	if f := m.sinces[since]; f != nil {
		return f, nil
	}
	names, err := o.Names()
	if err != nil {
		return nil, err
	}
	f := &Figures{Since: since, Rates: map[string][]Rate{}, Actions: map[string]int{}}
	counts := map[string]map[string]*Rate{}
	for _, by := range RatesBy {
		counts[by] = map[string]*Rate{}
	}
	words := o.tests.words.texts
	for id, one := range o.tests.known {
		c := o.index.gauges[id]
		if c == nil {
			continue
		}
		f.Unread += one.unread
		for i := range one.trials {
			t := &one.trials[i]
			if int(t.day) < from {
				continue
			}
			f.All.count(words[t.verdict])
			for by, of := range counts {
				value := ratedBy(by, c, t, words)
				if of[value] == nil {
					of[value] = &Rate{Value: value}
				}
				of[value].count(words[t.verdict])
			}
		}
	}
	f.All.bound()
	for by, of := range counts {
		f.Rates[by] = rates(of)
		if by == "person" {
			for i := range f.Rates[by] {
				f.Rates[by][i].Value = Called(names, f.Rates[by][i].Value)
			}
		}
	}
	f.Groups, f.Worst, f.Cost = m.byGroup(), o.tests.worst(), o.cost(m)
	for _, a := range m.advice {
		f.Actions[a.action]++
	}
	m.sinces[since] = f
	return f, nil
}

func (r *Rate) count(verdict string) {
	switch was, known := in(verdict); {
	case !known:
		r.Undecided++
	case was:
		r.Of, r.Passed = r.Of+1, r.Passed+1
	default:
		r.Of++
	}
}

func (r *Rate) bound() {
	if r.Of > 0 {
		r.Low, r.High = numeric.ClopperPearson(r.Passed, r.Of, 0.95)
	}
}

// rates lists the values with most tests, the lowest share first.
func rates(of map[string]*Rate) []Rate {
	list := slices.SortedFunc(maps.Values(of), func(a, b *Rate) int {
		return cmp.Or(cmp.Compare(b.Of, a.Of), strings.Compare(a.Value, b.Value))
	})
	out := make([]Rate, 0, len(list))
	for _, r := range list[:min(len(list), maxRates)] {
		r.bound()
		out = append(out, *r)
	}
	share := func(r *Rate) float64 {
		if r.Of == 0 {
			return 2
		}
		return float64(r.Passed) / float64(r.Of)
	}
	slices.SortStableFunc(out, func(a, b Rate) int { return cmp.Compare(share(&a), share(&b)) })
	return out
}

// remember locks the register and the past, both up to date, and recalculates the advice on all
// intervals if something changed. free unlocks them. While the past is being read nothing is
// locked.
func (o *Office) remember() (reading *Progress, free func(), err error) {
	if err := o.index.prepare(); err != nil {
		return nil, nil, err
	}
	reading, err = o.tests.ready(o.index.ids)
	if err != nil || reading != nil {
		return reading, nil, err
	}
	o.index.mu.Lock()
	free = func() { o.index.mu.Unlock(); o.tests.mu.Unlock() }
	if err := o.index.follow(); err != nil {
		free()
		return nil, nil, err
	}
	today, _ := document.ParseDate(o.now().Format(time.DateOnly))
	m := &o.tests.made
	if m.advice == nil || m.turn != o.tests.turn || m.cursor != o.index.cursor || m.today != today {
		*m = made{turn: o.tests.turn, cursor: o.index.cursor, today: today, advice: map[string]*advised{},
			groups: groups{}, sinces: map[string]*Figures{}}
		o.adviseAll(m)
	}
	return nil, free, nil
}

func (o *Office) adviseAll(m *made) {
	words := o.tests.words.texts
	for id, one := range o.tests.known {
		if c := o.index.gauges[id]; c != nil {
			m.groups.at(modelOf(c)).add(one.trials, words)
			m.groups.at(c.Kind).add(one.trials, words)
		}
	}
	for id, one := range o.tests.known {
		c := o.index.gauges[id]
		if c == nil || c.Status != InService || c.IntervalMonths <= 0 {
			continue
		}
		full := m.groups.advise(c, one, words, m.today)
		g := m.groups.at(full.Group)
		a := full.kept(c, g)
		a.minutes, a.planned = o.index.takes(c)
		m.advice[id] = a
		g.members = append(g.members, a)
	}
}

// ids lists the instruments.
func (x *Index) ids() ([]string, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	return slices.Sorted(maps.Keys(x.gauges)), nil
}

// byGroup returns the advice of each group that has members, the largest first.
func (m *made) byGroup() []GroupAdvice {
	list := []GroupAdvice{}
	for _, g := range m.groups {
		if len(g.members) == 0 {
			continue
		}
		list = append(list, g.advice())
	}
	slices.SortFunc(list, func(a, b GroupAdvice) int {
		return cmp.Or(cmp.Compare(b.Members, a.Members), strings.Compare(a.Group, b.Group))
	})
	return list[:min(len(list), maxRates)]
}

// advice is what a group's own results say about the interval that most of its members have.
func (g *group) advice() GroupAdvice {
	a := GroupAdvice{Group: g.name, Members: len(g.members), Advised: map[string]int{}}
	by := map[int]int{}
	for _, one := range g.members {
		by[one.interval]++
		a.Advised[one.action]++
	}
	for months, n := range by {
		if n > by[a.Interval] || n == by[a.Interval] && months < a.Interval {
			a.Interval = months
		}
	}
	d := g.of(a.Interval)
	a.Of, a.Out = d.In+d.Decay.Out, d.Decay.Out
	e := history.Evidence{Months: float64(a.Interval), Found: -1}
	if d.ok {
		e.Group = d.Bears(aimedAt)
		out := d.OutAfter(float64(a.Interval))
		a.Chance = &out
		low, high := d.BearsAt(aimedAt)
		a.Low = &low
		if d.Low > 0 {
			a.High = &high
		}
	}
	adv := history.Advise(e)
	a.Action, a.Months, a.Reason = adv.Action, adv.Months, adv.Reason
	return a
}

// worst lists the instruments found out most often. Of equals, the one with fewer tests comes first,
// then the one more likely to be out.
func (t *tests) worst() []Advice {
	list := slices.SortedFunc(maps.Values(t.made.advice), func(a, b *advised) int {
		return cmp.Or(cmp.Compare(b.out, a.out), cmp.Compare(a.tests, b.tests), cmp.Compare(b.rank(), a.rank()),
			strings.Compare(a.c.Tag, b.c.Tag))
	})
	out := []Advice{}
	for _, a := range list[:min(len(list), maxWorst)] {
		if a.out > 0 {
			out = append(out, *t.advice(a.c.ID))
		}
	}
	return out
}

// cost adds up the working time that the intervals take in a year, and what they find.
func (o *Office) cost(m *made) (c Cost) {
	c.UsualEach, c.ChanceMost, c.All = UsualMinutes, aimedAt, len(m.advice)
	for _, id := range slices.Sorted(maps.Keys(m.advice)) { // in a fixed order: sums keep their bits
		a := m.advice[id]
		each := float64(a.minutes) / 60
		months := a.interval
		if a.action != history.Keep && a.action != Decided {
			months = a.months
		}
		now, then := 12/float64(a.interval), 12/float64(months)
		c.HoursNow += each * now
		c.HoursThen += each * then
		if a.planned {
			c.Planned++
		}
		if !math.IsNaN(a.chance) {
			c.Known++
			after := a.chance
			if !math.IsNaN(a.after) && a.action != Decided {
				after = a.after
			}
			c.OutNow += a.chance * now
			c.OutThen += after * then
		}
	}
	return c
}
