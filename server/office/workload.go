package office

import (
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/calc/history"
	"gaugewright/server/auth"
	"gaugewright/server/plant"
)

// PlanSettings are the office's settings for planning.
type PlanSettings struct {
	Areas    []string `json:"areas"`     // in walking order; others follow by name
	Hours    float64  `json:"hours"`     // of testing per technician and week
	AwayDays int      `json:"away_days"` // how long a standard is away for its own calibration
}

// Chosen here, until the office sets its own.
const usualHours, usualAway = 20, 21

const (
	// weeksAhead is how many weeks are planned: a year.
	weeksAhead = 53
	// earlyWeeks is how many weeks early a test may be done to level the work. Chosen here.
	earlyWeeks = 6
	// maxUnmet is how many tests that cannot be done are listed.
	maxUnmet = 300
)

// PlanSettings returns the office's settings, or the usual values.
func (o *Office) PlanSettings() (s PlanSettings, err error) {
	s = PlanSettings{Areas: []string{}, Hours: usualHours, AwayDays: usualAway}
	b, err := o.store.Private("office").Get("planning")
	if err != nil || b == nil {
		return s, err
	}
	return s, json.Unmarshal(b, &s)
}

// SetPlanSettings stores the settings.
//
// Refuses: a Fault that names the setting.
func (o *Office) SetPlanSettings(s PlanSettings) error {
	switch {
	case !(s.Hours > 0 && s.Hours <= 60):
		return document.Refuse(document.CodeRange, "hours", "are above 0 and at most 60 a week")
	case s.AwayDays < 0 || s.AwayDays > 365:
		return document.Refuse(document.CodeRange, "away_days", "is a number of days from 0 to 365")
	case len(s.Areas) > 500:
		return document.Refuse(document.CodeRange, "areas", "more than 500")
	}
	b, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return o.store.Private("office").Put("planning", b)
}

// Share is a part of a week's work.
type Share struct {
	Name    string `json:"name"`
	Tests   int    `json:"tests"`
	Minutes int    `json:"minutes"`
}

// Week is the work of a week.
type Week struct {
	Start    string  `json:"start"` // a Monday
	Tests    int     `json:"tests"`
	Minutes  int     `json:"minutes"`  // by the due dates; overdue work counts in the first week
	Levelled int     `json:"levelled"` // after moving tests forward to weeks with time left
	Capacity int     `json:"capacity"`
	Areas    []Share `json:"areas"`
	Kits     []Share `json:"kits"`  // by the standard planned for a test
	Unmet    int     `json:"unmet"` // tests that cannot be done in it
}

// Unmet is a test that cannot be done, and why.
type Unmet struct {
	ID   string `json:"id"`
	Tag  string `json:"tag"`
	Area string `json:"area"`
	Due  string `json:"due"`
	Why  string `json:"why"` // method, standard, away, person, competence or hours
}

// OwnCalibration is when a standard goes away for its own calibration.
type OwnCalibration struct {
	ID     string `json:"id"`
	Name   string `json:"name"`
	Due    string `json:"due"`
	Send   string `json:"send"` // the Monday of the week that leaves the most work possible
	Back   string `json:"back"`
	Unmade int    `json:"unmade"` // tests in that time that no other standard serves
}

// Workload is the work of the next year.
type Workload struct {
	Settings  PlanSettings     `json:"settings"`
	Weeks     []Week           `json:"weeks"`
	Unmet     []Unmet          `json:"unmet"`
	Whys      map[string]int   `json:"whys"`
	Standards []OwnCalibration `json:"standards"`
	People    int              `json:"people"` // technicians
	Planned   int              `json:"planned"`
	All       int              `json:"all"`
	Usual     int              `json:"usual_minutes"`
	Areas     []string         `json:"areas"` // all areas, in walking order
}

// job is one test that falls due.
type job struct {
	c        *card
	due      int // day
	first    int // the earliest week
	last     int // the week in which it is due
	week     int // the week for which it is planned
	minutes  int
	serves   []string // standards
	standard string
	kind     string // of work
	urgent   bool   // a work order says so
	why      string
}

// year is a year's work while it is being planned.
type year struct {
	settings PlanSettings
	monday   int // day of the first week
	jobs     []*job
	load     []int // minutes by week after levelling
	capacity int
	own      []OwnCalibration
	names    map[string]string // of standards
	order    map[string]int    // of areas
	planned  int
	all      int
	people   []Colleague
	who      authorised
}

// able reports whether a person is authorised for a kind of work on a day.
func (y *year) able(person, kind, day string) bool { return y.who.may(person, plant.MayDo, kind, day) }

func mondayOf(day int) int { return day - (day+3)%7 } // 1970-01-01 was a Thursday

// Workload plans the work of the next year from the due dates and intervals of the instruments in
// service and the durations of their plans.
func (o *Office) Workload() (w Workload, err error) {
	y, err := o.layYearOut()
	if err != nil {
		return w, err
	}
	w = Workload{Settings: y.settings, Unmet: []Unmet{}, Whys: map[string]int{}, Standards: y.own, Usual: UsualMinutes,
		People: len(y.people), Planned: y.planned, All: y.all, Areas: y.areas()}
	type parts map[string]*Share
	areas, kits := make([]parts, weeksAhead), make([]parts, weeksAhead)
	add := func(of []parts, week int, name string, minutes int) {
		if of[week] == nil {
			of[week] = parts{}
		}
		if of[week][name] == nil {
			of[week][name] = &Share{Name: name}
		}
		of[week][name].Tests++
		of[week][name].Minutes += minutes
	}
	for i := range weeksAhead {
		w.Weeks = append(w.Weeks, Week{Start: dateOf(y.monday + 7*i), Levelled: y.load[i], Capacity: y.capacity})
	}
	for _, j := range y.jobs {
		at := &w.Weeks[j.last]
		at.Tests++
		at.Minutes += j.minutes
		add(areas, j.last, j.c.Area, j.minutes)
		if j.standard != "" {
			add(kits, j.last, y.names[j.standard], j.minutes)
		}
		if j.why != "" {
			at.Unmet++
			w.Whys[j.why]++
			if len(w.Unmet) < maxUnmet {
				w.Unmet = append(w.Unmet, Unmet{j.c.ID, j.c.Tag, j.c.Area, dateOf(j.due), j.why})
			}
		}
	}
	list := func(of parts) []Share {
		out := []Share{}
		for _, p := range of {
			out = append(out, *p)
		}
		slices.SortFunc(out, func(a, b Share) int {
			return cmp.Or(cmp.Compare(b.Minutes, a.Minutes), strings.Compare(a.Name, b.Name))
		})
		return out
	}
	for i := range w.Weeks {
		w.Weeks[i].Areas, w.Weeks[i].Kits = list(areas[i]), list(kits[i])
	}
	return w, nil
}

func (o *Office) layYearOut() (*year, error) {
	y := &year{load: make([]int, weeksAhead), names: map[string]string{}, order: map[string]int{}}
	var err error
	if y.settings, err = o.PlanSettings(); err != nil {
		return nil, err
	}
	for i, name := range y.settings.Areas {
		y.order[name] = i
	}
	all, err := o.Colleagues()
	if err != nil {
		return nil, err
	}
	for _, p := range all {
		if p.Role == auth.Technician {
			y.people = append(y.people, p)
		}
	}
	if y.who, err = o.authorised(); err != nil {
		return nil, err
	}
	y.capacity = int(y.settings.Hours*60) * len(y.people)
	today, _ := document.ParseDate(o.now().Format(time.DateOnly))
	y.monday = mondayOf(today)
	states, err := o.store.ByKind("standard", "", 0)
	if err != nil {
		return nil, err
	}
	var standards []plant.Standard
	for _, s := range states {
		if v, err := plant.ReadStandard(s); err == nil && (v.Status == "" || v.Status == InService) {
			standards = append(standards, v)
			y.names[v.ID] = v.Name
		}
	}
	if err := o.index.prepare(); err != nil {
		return nil, err
	}
	if err := y.gather(o.index, today); err != nil {
		return nil, err
	}
	y.pick()
	for _, s := range standards {
		y.sendAway(s)
	}
	slices.SortFunc(y.own, func(a, b OwnCalibration) int {
		return cmp.Or(strings.Compare(a.Send, b.Send), strings.Compare(a.Name, b.Name))
	})
	y.level()
	return y, nil
}

// gather lists what falls due. Which standards serve an instrument is decided as of today, assuming
// that standards which fall due later are calibrated in time.
func (y *year) gather(x *Index, today int) error {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return err
	}
	if _, err := x.serving(NoStandard, x.now().Format(time.DateOnly)); err != nil {
		return err
	}
	end := y.monday + 7*weeksAhead
	for _, c := range x.sorted(order{column: "due"}) {
		due, ok := document.ParseDate(c.Due)
		if c.Status != InService {
			continue
		}
		due, urgent, ok := orderedFor(c.Orders, due, ok, today)
		if !ok {
			continue
		}
		minutes, known := x.takes(c)
		y.all++
		if known {
			y.planned++
		}
		of := demand{c.facts.Method, c.wants}
		serves, asked := x.served.known[of]
		for due < end {
			j := &job{c: c, due: due, minutes: minutes, serves: serves, urgent: urgent, kind: x.workOn(c)}
			urgent = false // only the first test
			j.last = max(due-y.monday, 0) / 7
			j.first, j.week = max(j.last-earlyWeeks, 0), j.last
			day := dateOf(max(due, today))
			switch {
			case len(x.methods[c.facts.Method].definition) == 0:
				j.why = "method"
			case asked && len(serves) == 0:
				j.why = "standard"
			case len(y.people) > 0 && !slices.ContainsFunc(y.people, func(p Colleague) bool { return y.able(p.ID, j.kind, day) }):
				j.why = "competence"
			}
			y.jobs = append(y.jobs, j)
			if c.IntervalMonths <= 0 {
				break
			}
			due = history.Due(max(due, today), c.IntervalMonths)
		}
	}
	slices.SortStableFunc(y.jobs, func(a, b *job) int { return cmp.Compare(a.due, b.due) })
	return nil
}

// orderedFor moves the due day of an instrument forward to the day by which an open work order
// wants it, or to today if an urgent order names no day. An instrument without a due date (known is
// false) is due for its orders only. urgent reports whether one of them is urgent.
func orderedFor(orders []plant.Ordered, due int, known bool, today int) (day int, urgent, ok bool) {
	for _, o := range orders {
		rush := o.Priority == "urgent"
		urgent = urgent || rush
		by, dated := document.ParseDate(o.Wanted)
		switch {
		case dated:
		case rush:
			by = today
		default:
			continue
		}
		if !known || by < due {
			due, known = by, true
		}
	}
	return due, urgent, known
}

// workOn returns the kind of work for an instrument: that of its method.
func (x *Index) workOn(c *card) string {
	if kind := kindOfWork(x.methods[c.facts.Method].definition); kind != "" {
		return kind
	}
	return cmp.Or(c.Kind, "gauge")
}

// pick plans each test with the standard that serves most tests of the year, so that fewer kits are
// carried.
func (y *year) pick() {
	count := map[string]int{}
	for _, j := range y.jobs {
		for _, s := range j.serves {
			count[s]++
		}
	}
	for _, j := range y.jobs {
		for _, s := range j.serves {
			if j.standard == "" || count[s] > count[j.standard] || count[s] == count[j.standard] && s < j.standard {
				j.standard = s
			}
		}
	}
}

// sendAway plans a standard's own calibration: within the eight weeks before it is due, in the week
// with the fewest tests that need this standard and no other.
func (y *year) sendAway(s plant.Standard) {
	due, ok := document.ParseDate(s.Due)
	if !ok || due >= y.monday+7*weeksAhead {
		return
	}
	away := max(1, (y.settings.AwayDays+6)/7)
	only := make([]int, weeksAhead+away)
	for _, j := range y.jobs {
		if len(j.serves) == 1 && j.serves[0] == s.ID {
			only[j.last]++
		}
	}
	last := max(0, (due-y.monday)/7-away)
	best, least := last, -1
	for at := max(0, last-8); at <= last; at++ {
		n := 0
		for k := range away {
			n += only[at+k]
		}
		if least < 0 || n <= least {
			best, least = at, n
		}
	}
	y.own = append(y.own, OwnCalibration{s.ID, s.Name, s.Due, dateOf(y.monday + 7*best),
		dateOf(y.monday + 7*best + y.settings.AwayDays), least})
}

// away reports whether a standard is away for its own calibration in a week.
func (y *year) away(standard string, week int) bool {
	start := dateOf(y.monday + 7*week)
	return slices.ContainsFunc(y.own, func(c OwnCalibration) bool {
		return c.ID == standard && start >= c.Send && start < c.Back
	})
}

// level moves tests forward, never back past their due week, so that no week has more work than
// time. A test that cannot be done gets the reason.
func (y *year) level() {
	byDue := slices.Clone(y.jobs)
	slices.Reverse(byDue)
	slices.SortStableFunc(byDue, func(a, b *job) int { // urgent ones take their time first
		if a.urgent == b.urgent {
			return 0
		} else if a.urgent {
			return -1
		}
		return 1
	})
	for _, j := range byDue {
		if j.why != "" {
			continue
		}
		found, away := -1, true
		for week := j.last; week >= j.first; week-- {
			if len(j.serves) > 0 && !slices.ContainsFunc(j.serves, func(s string) bool { return !y.away(s, week) }) {
				continue
			}
			away = false
			if y.load[week]+j.minutes <= y.capacity {
				found = week
				break
			}
		}
		switch {
		case away:
			j.why = "away"
		case len(y.people) == 0:
			j.why = "person"
		case found < 0:
			j.why = "hours"
		default:
			j.week = found
			y.load[found] += j.minutes
			if y.away(j.standard, found) {
				at := slices.IndexFunc(j.serves, func(s string) bool { return !y.away(s, found) })
				j.standard = j.serves[at]
			}
		}
	}
}

// areas lists all areas in walking order.
func (y *year) areas() []string {
	seen := map[string]bool{}
	for _, j := range y.jobs {
		seen[j.c.Area] = true
	}
	return slices.SortedFunc(maps.Keys(seen), y.walk)
}

// walk compares two areas by walking order.
func (y *year) walk(a, b string) int {
	at := func(name string) int {
		if n, stated := y.order[name]; stated {
			return n
		}
		return len(y.order)
	}
	return cmp.Or(cmp.Compare(at(a), at(b)), strings.Compare(natural(a), natural(b)))
}
