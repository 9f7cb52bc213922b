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

// PlanSettings are what the office states for its planning.
type PlanSettings struct {
	Areas    []string `json:"areas"`     // in the order in which they are walked; others follow by name
	Hours    float64  `json:"hours"`     // of testing that a technician has in a week
	AwayDays int      `json:"away_days"` // how long a standard is away at its own calibration
}

// Chosen here, until the office states its own.
const usualHours, usualAway = 20, 21

const (
	// weeksAhead is how many weeks are planned: a year.
	weeksAhead = 53
	// earlyWeeks is how many weeks before it is due a test may be done to level the work. Chosen here.
	earlyWeeks = 6
	// maxUnmet is how many tests that cannot be done are listed.
	maxUnmet = 300
)

// PlanSettings gives what the office stated, or the usual values.
func (o *Office) PlanSettings() (s PlanSettings, err error) {
	s = PlanSettings{Areas: []string{}, Hours: usualHours, AwayDays: usualAway}
	b, err := o.store.Private("office").Get("planning")
	if err != nil || b == nil {
		return s, err
	}
	return s, json.Unmarshal(b, &s)
}

// SetPlanSettings keeps them.
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

// Share is a part of the work of a week.
type Share struct {
	Name    string `json:"name"`
	Tests   int    `json:"tests"`
	Minutes int    `json:"minutes"`
}

// Week is the work of a week.
type Week struct {
	Start    string  `json:"start"` // a Monday
	Tests    int     `json:"tests"`
	Minutes  int     `json:"minutes"`  // as the due dates have it; what is overdue counts in the first week
	Levelled int     `json:"levelled"` // with tests brought forward to weeks with time left
	Capacity int     `json:"capacity"`
	Areas    []Share `json:"areas"`
	Kits     []Share `json:"kits"`  // by the standard that a test is planned with
	Unmet    int     `json:"unmet"` // tests that cannot be done in it
}

// Unmet is a test that cannot be done, and why.
type Unmet struct {
	ID   string `json:"id"`
	Tag  string `json:"tag"`
	Area string `json:"area"`
	Due  string `json:"due"`
	Why  string `json:"why"` // method, standard, away, person or hours
}

// OwnCalibration is when a standard goes to its own calibration.
type OwnCalibration struct {
	ID     string `json:"id"`
	Name   string `json:"name"`
	Due    string `json:"due"`
	Send   string `json:"send"` // the Monday of the week that leaves most work possible
	Back   string `json:"back"`
	Unmade int    `json:"unmade"` // tests that fall into that time and that no other standard serves
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
	Areas     []string         `json:"areas"` // all there are, in the order of walking
}

// job is one test that falls due.
type job struct {
	c        *card
	due      int // day
	first    int // the earliest week
	last     int // the week in which it is due
	week     int // in which it is planned
	minutes  int
	serves   []string // standards
	standard string
	why      string
}

// year is the work of a year while it is laid out.
type year struct {
	settings PlanSettings
	monday   int // day of the first week
	jobs     []*job
	load     []int // minutes by week as levelled
	capacity int
	own      []OwnCalibration
	names    map[string]string // of standards
	order    map[string]int    // of areas
	planned  int
	all      int
	people   []Colleague
}

func mondayOf(day int) int { return day - (day+3)%7 } // 1970-01-01 was a Thursday

// Workload lays the work of the next year out, by the due dates and intervals of the instruments in
// service and the times of their plans.
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

// gather lists what falls due. Which standards serve an instrument is asked as of today, with those
// that have run out since taken as calibrated in time.
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
		if !ok || c.Status != InService {
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
			j := &job{c: c, due: due, minutes: minutes, serves: serves}
			j.last = max(due-y.monday, 0) / 7
			j.first, j.week = max(j.last-earlyWeeks, 0), j.last
			switch {
			case len(x.methods[c.facts.Method].definition) == 0:
				j.why = "method"
			case asked && len(serves) == 0:
				j.why = "standard"
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

// pick plans each test with the standard that serves most tests of the year: fewer kits are carried.
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

// sendAway plans a standard's own calibration: in the eight weeks before it is due, where the fewest
// tests need it and no other.
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

// away says whether a standard is at its own calibration in a week.
func (y *year) away(standard string, week int) bool {
	start := dateOf(y.monday + 7*week)
	return slices.ContainsFunc(y.own, func(c OwnCalibration) bool {
		return c.ID == standard && start >= c.Send && start < c.Back
	})
}

// level brings tests forward, never later than they are due, so that no week has more than there is
// time for. What cannot be done says why.
func (y *year) level() {
	for _, j := range slices.Backward(y.jobs) {
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

// areas lists all areas in the order of walking.
func (y *year) areas() []string {
	seen := map[string]bool{}
	for _, j := range y.jobs {
		seen[j.c.Area] = true
	}
	return slices.SortedFunc(maps.Keys(seen), y.walk)
}

// walk compares two areas by the order in which they are walked.
func (y *year) walk(a, b string) int {
	at := func(name string) int {
		if n, stated := y.order[name]; stated {
			return n
		}
		return len(y.order)
	}
	return cmp.Or(cmp.Compare(at(a), at(b)), strings.Compare(natural(a), natural(b)))
}
