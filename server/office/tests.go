package office

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"gaugewright/calc/document"
	"gaugewright/calc/history"
	"gaugewright/calc/numeric"
	"gaugewright/calc/visit"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"golang.org/x/sync/errgroup"
)

// aimedAt is the share of instruments that should be in tolerance when due. Common practice, no
// source: nineteen of twenty.
const aimedAt = 0.95

// Tested is one test of an instrument, as the figures use it.
type Tested struct {
	ID         string   `json:"id"`
	Instrument string   `json:"instrument"`
	Started    string   `json:"started"` // a date in the office's calendar
	Person     string   `json:"person"`  // user id; "" if the test was imported
	Method     string   `json:"method"`  // its name
	Verdict    string   `json:"verdict"` // as found
	Left       string   `json:"left"`    // "" if there is no result as left
	Fraction   *float64 `json:"fraction"`
	OfLimit    string   `json:"of_limit,omitempty"` // the same in whole per cent
	Adjusted   bool     `json:"adjusted"`
	Brought    bool     `json:"brought"` // imported from a sheet of past results
}

// in reports whether a verdict means in tolerance; known is false if it means neither in nor out.
func in(verdict string) (in, known bool) {
	switch verdict {
	case "pass", "conditional-pass":
		return true, true
	case "fail", "conditional-fail":
		return false, true
	}
	return false, false
}

// tests are the results of all instruments over the years, in memory; they follow the journal. They
// need more of a visit than the register does, and are first read when somebody asks.
type tests struct {
	store *store.Store
	now   func() time.Time

	done, of atomic.Int64 // instruments read, of those there are
	busy     atomic.Bool  // they are being read

	mu     sync.Mutex
	cursor uint64 // the journal's entries read so far
	loaded bool
	failed error // why the past could not be read
	known  map[string]*tested
	words  words
	turn   uint64 // counts up with every change
	made   made
}

// tested is the known past of an instrument, in little memory: a company has millions of tests.
type tested struct {
	trials   []trial
	points   []point   // those with a limit and a forecast
	decision *Decision // the latest
	unread   int       // visits that cannot be read
	looked   []look    // by day, since they are the most expensive to calculate
}

// trial is a test in memory; its numbers are words of the tests.
type trial struct {
	fraction      float64 // NaN if there is none
	day           int32
	person        uint32
	method        uint32
	verdict, left uint32
	id            packedID
	adjusted      bool
	brought       bool
}

// point is the forecast of a point that has a limit.
type point struct {
	drift      history.Drift
	limit      float64
	due, fresh int32
}

func pointsOf(courses []history.Course, aheads []*history.Ahead) []point {
	list := make([]point, 0, len(courses))
	for i, a := range aheads {
		if limit := courses[i].Limit; limit > 0 && a != nil {
			list = append(list, point{a.Drift, limit, int32(a.Due), int32(a.Fresh)})
		}
	}
	return list
}

// test returns a trial as lists show it.
func (t *tests) test(instrument string, one *trial) Tested {
	w := t.words.texts
	full := Tested{ID: one.id.text(), Instrument: instrument, Started: dateOf(int(one.day)), Person: w[one.person],
		Method: w[one.method], Verdict: w[one.verdict], Left: w[one.left], Adjusted: one.adjusted, Brought: one.brought}
	if !math.IsNaN(one.fraction) {
		fraction := one.fraction
		full.Fraction, full.OfLimit = &fraction, ofLimit(&fraction)
	}
	return full
}

// look is what the forecasts give for a day.
type look struct {
	day   int
	bears history.Bears
	out   float64 // the probability of being out
}

// maxLooks is how many days are remembered for an instrument.
const maxLooks = 8

// Progress is how much of the past has been read.
type Progress struct {
	Done int64 `json:"done"`
	Of   int64 `json:"of"`
}

// patience is how long an answer waits for the past to be read before it returns the progress
// instead.
const patience = 500 * time.Millisecond

// ready reads the past up to the journal's end. If the first reading is still going on it returns
// the progress and does not hold mu; otherwise it holds mu.
func (t *tests) ready(ids func() ([]string, error)) (*Progress, error) {
	t.mu.Lock()
	if !t.loaded {
		if t.busy.CompareAndSwap(false, true) {
			t.failed = nil
			go t.load(ids)
		}
		t.mu.Unlock()
		for end := time.Now().Add(patience); t.busy.Load() && time.Now().Before(end); {
			time.Sleep(5 * time.Millisecond)
		}
		if t.busy.Load() {
			return &Progress{t.done.Load(), t.of.Load()}, nil
		}
		t.mu.Lock()
		if t.failed != nil {
			t.mu.Unlock()
			return nil, t.failed
		}
	}
	if err := t.follow(); err != nil {
		t.mu.Unlock()
		return nil, err
	}
	return nil, nil
}

// load reads the past of all instruments.
func (t *tests) load(ids func() ([]string, error)) {
	known, last, err := t.readAll(ids)
	t.mu.Lock()
	t.known, t.cursor, t.loaded, t.failed = known, last, err == nil, err
	t.turn++
	t.mu.Unlock()
	t.busy.Store(false)
}

func (t *tests) readAll(ids func() ([]string, error)) (map[string]*tested, uint64, error) {
	last, err := t.store.Last()
	if err != nil {
		return nil, 0, err
	}
	list, err := ids()
	if err != nil {
		return nil, 0, err
	}
	t.done.Store(0)
	t.of.Store(int64(len(list)))
	known := make(map[string]*tested, len(list))
	t.words = newWords()
	var taking sync.Mutex
	var all errgroup.Group
	all.SetLimit(4)
	for part := range slices.Chunk(list, 500) {
		all.Go(func() error {
			tails := history.NewTails(0.95, 1-aimedAt)
			for _, id := range part {
				p, err := t.past(id)
				if err != nil {
					return err
				}
				courses, aheads := p.ahead(tails)
				taking.Lock()
				known[id] = t.put(p, courses, aheads)
				taking.Unlock()
				t.done.Add(1)
			}
			return nil
		})
	}
	return known, last, all.Wait()
}

// follow rereads what new entries of the journal touched; mu must be held.
func (t *tests) follow() error {
	touched := map[string]bool{}
	from := t.cursor
	for {
		list, last, err := t.store.Since(from, piece, nil)
		if err != nil {
			return err
		}
		for i := range list {
			switch c := &list[i].Change; c.Kind {
			case "instrument":
				touched[c.Record] = true
			case "visit", "result":
				s, ok, err := t.store.Record(c.Record)
				if err != nil && !errors.Is(err, store.ErrDamaged) {
					return err
				}
				if ok && s.Parent != "" {
					touched[s.Parent] = true
				}
			}
		}
		from = last
		if len(list) == 0 {
			break
		}
	}
	tails := history.NewTails(0.95, 1-aimedAt)
	for id := range touched {
		p, err := t.past(id)
		if err != nil {
			return err
		}
		courses, aheads := p.ahead(tails)
		t.known[id] = t.put(p, courses, aheads)
	}
	if len(touched) > 0 {
		t.turn++
	}
	t.cursor = from
	return nil
}

// past is all that is read of an instrument's past.
type past struct {
	tests    []Tested
	visits   []visit.Past
	decision *Decision
	unread   int
}

// past reads the past of an instrument.
func (t *tests) past(id string) (*past, error) {
	one := &past{}
	if s, ok, err := t.store.Record(id); err == nil && ok {
		one.decision = lastDecision(&s)
	}
	kids, err := t.store.Children(id)
	if errors.Is(err, store.ErrDamaged) {
		one.unread++
		err = nil
	}
	if err != nil {
		return nil, err
	}
	for i := range kids {
		kids[i].Parent = id
		one.take(&kids[i], t.now().Location())
	}
	slices.SortStableFunc(one.tests, func(a, b Tested) int {
		return cmp.Or(strings.Compare(a.Started, b.Started), strings.Compare(a.ID, b.ID))
	})
	return one, nil
}

// ahead joins the tests into the course of each point, and forecasts from it; nil where there is too
// little. A point missing from the last test belongs to a method that is no longer used.
func (one *past) ahead(tails *history.Tails) (courses []history.Course, aheads []*history.Ahead) {
	list := joined(one.visits)
	latest := 0
	for i := range list {
		latest = max(latest, list[i].Day)
	}
	courses = slices.DeleteFunc(history.Join(list), func(c history.Course) bool {
		return c.Results[len(c.Results)-1].Day < latest
	})
	for i := range courses {
		a, err := courses[i].Ahead(0, tails)
		if err != nil {
			aheads = append(aheads, nil)
			continue
		}
		aheads = append(aheads, &a)
	}
	return courses, aheads
}

// put packs a past. Whoever calls it holds the words.
func (t *tests) put(p *past, courses []history.Course, aheads []*history.Ahead) *tested {
	one := &tested{trials: make([]trial, len(p.tests)), points: pointsOf(courses, aheads), decision: p.decision, unread: p.unread}
	w := &t.words
	for i := range p.tests {
		from, to := &p.tests[i], &one.trials[i]
		*to = trial{fraction: math.NaN(), day: dayIn(from.Started), person: w.number(from.Person), method: w.number(from.Method),
			verdict: w.number(from.Verdict), left: w.number(from.Left), id: packID(from.ID), adjusted: from.Adjusted, brought: from.Brought}
		if from.Fraction != nil {
			to.fraction = *from.Fraction
		}
	}
	return one
}

// take adds a visit or a past result. An unfinished one, or one by a draft of a method, does not
// count.
func (one *past) take(s *merge.State, here *time.Location) {
	if s.Kind != "visit" && s.Kind != "result" {
		return
	}
	var v plant.Visit
	var err error
	if s.Kind == "visit" {
		v, err = plant.ReadVisit(*s)
	} else {
		var r plant.PastResult
		r, err = plant.ReadPastResult(*s)
		v = plant.Visit{Base: r.Base, Started: r.Started, Summary: r.Summary, Status: plant.Signed}
		v.Method.Version = 1
		v.Adjusted = &struct {
			Done bool
			Note string
		}{Done: r.Adjusted}
	}
	if err != nil {
		one.unread++
		return
	}
	if v.Status == plant.Open || v.Summary.AsFound == nil || s.Kind == "visit" && v.Method.Version < 1 && v.Method.ID != "" {
		return
	}
	at, err := time.Parse(time.RFC3339, v.Started)
	if err != nil {
		one.unread++
		return
	}
	t := Tested{ID: s.ID, Started: at.In(here).Format(time.DateOnly), Person: v.Person, Method: v.Method.Name,
		Verdict: v.Summary.AsFound.Verdict, Fraction: v.Summary.AsFound.WorstFraction,
		Adjusted: v.Adjusted != nil && v.Adjusted.Done, Brought: s.Kind == "result"}
	if v.Summary.AsLeft != nil {
		t.Left = v.Summary.AsLeft.Verdict
	}
	one.tests = append(one.tests, t)
	if b, ok := s.Value("summary"); ok {
		if summary, err := document.Parse(b); err == nil {
			one.visits = append(one.visits, visit.Past{Started: t.Started, Adjusted: t.Adjusted, Summary: &summary})
		}
	}
}

func joined(past []visit.Past) (list []history.Test) {
	of := func(errors []visit.MeanError) (points []history.PointError) {
		for i := range errors {
			e := &errors[i]
			if p, ok := numeric.ParseExact(e.Point); ok {
				points = append(points, history.PointError{Point: p, Error: e.Error(), Limit: e.Limit})
			}
		}
		return points
	}
	for _, v := range visit.Counting(past) {
		day, ok := document.ParseDate(v.Started)
		if !ok {
			continue
		}
		t := history.Test{Day: day, Adjusted: v.Adjusted, Found: of(v.Errors("as_found"))}
		if v.Adjusted {
			t.Left = of(v.Errors("as_left"))
		}
		list = append(list, t)
	}
	return list
}

// last returns the latest test that has a result, or nil.
func (one *tested) last() *trial {
	if len(one.trials) == 0 {
		return nil
	}
	return &one.trials[len(one.trials)-1]
}

// at returns the forecasts for a day: what they allow, and the probability of being out then.
func (one *tested) at(day int) (b history.Bears, out float64) {
	for i := range one.looked {
		if l := &one.looked[i]; l.day == day {
			return l.bears, l.out
		}
	}
	limited := make([]*history.Ahead, len(one.points))
	for i := range one.points {
		p := &one.points[i]
		limited[i] = &history.Ahead{Drift: p.drift, Limited: true, Due: int(p.due), Fresh: int(p.fresh)}
		out = max(out, p.drift.Out(float64(day), p.limit))
	}
	b = history.BearsOf(limited, day)
	if len(one.looked) == maxLooks {
		one.looked = one.looked[:0]
	}
	one.looked = append(one.looked, look{day, b, out})
	return b, out
}
