package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"slices"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/server/office"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// Progress is how far a look-back has got.
type Progress struct {
	State string `json:"state"` // running, done, or failed
	Done  int    `json:"done"`  // visits examined
	Of    int    `json:"of"`
	Error string `json:"error"`
}

// Ways are what can follow for an instrument whose results depend on a standard that was out.
var Ways = []string{"none", "tell", "recall", "recalibrate"}

// Open opens a look-back on a standard and calculates it in the background.
//
// Refuses: document.Fault with the field; plant.ErrNotFound, plant.ErrKind; ErrAbove at a hub.
func (d *Desk) Open(ctx context.Context, user, id string, q plant.LookbackQuestion) (string, error) {
	if d.office.IsHub() {
		return "", ErrAbove
	}
	s, err := d.office.Record(id)
	if err != nil {
		return "", err
	}
	if s.Kind != "standard" {
		return "", plant.ErrKind
	}
	q.Reason = strings.TrimSpace(q.Reason)
	if !slices.ContainsFunc(rangesOf(&s), func(r json.RawMessage) bool { return sameRange(r, q.Range) }) {
		return "", document.Refuse(document.CodeRange, "range", "the standard has no such range")
	}
	if _, err := time.Parse(time.DateOnly, q.Since); err != nil || q.Since > d.today() {
		return "", document.Refuse(document.CodeRange, "since", "a day such as 2026-03-04 is needed, not after today")
	}
	if len(pointsOf(q.After)) == 0 {
		return "", document.Refuse(document.CodeMissing, "after", "the points that are known now are needed")
	}
	if len(q.Before) > 0 && len(pointsOf(q.Before)) == 0 {
		return "", document.Refuse(document.CodeRange, "before", "the points cannot be read")
	}
	if q.Reason == "" || len(q.Reason) > maxNote {
		return "", document.Refuse(document.CodeMissing, "reason", "say how the standard was found to be out")
	}
	lookback, err := d.office.Edit(ctx, user, func() (merge.State, []plant.Set, error) {
		return merge.State{Kind: "lookback"}, []plant.Set{
			{Field: "standard", Value: id}, {Field: "question", Value: q},
		}, nil
	})
	if err == nil {
		err = d.Begin(user, lookback)
	}
	return lookback, err
}

// Begin calculates a look-back in the background: after it was opened, or again if the program
// ended meanwhile.
//
// Refuses: ErrBusy; plant.ErrNotFound, plant.ErrKind.
func (d *Desk) Begin(user, id string) error {
	l, err := d.lookback(id)
	if err != nil {
		return err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if j := d.jobs[id]; l.Found != nil || j != nil && j.State == "running" {
		return ErrBusy
	}
	d.jobs[id] = &Progress{State: "running"}
	go func() {
		err := d.calculate(d.life, user, &l)
		if err != nil && d.life.Err() == nil {
			slog.Error("a look-back failed", "record", id, "error", err)
		}
		d.advance(id, func(p *Progress) {
			p.State = "done"
			if err != nil {
				p.State, p.Error = "failed", err.Error()
			}
		})
	}()
	return nil
}

func (d *Desk) advance(id string, say func(*Progress)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	say(d.jobs[id])
}

func (d *Desk) lookback(id string) (plant.Lookback, error) {
	s, err := d.office.Record(id)
	if err != nil {
		return plant.Lookback{}, err
	}
	return plant.ReadLookback(s)
}

// LookbackRow is a look-back in a list.
type LookbackRow struct {
	ID        string               `json:"id"`
	Standard  string               `json:"standard"` // record id
	Name      string               `json:"name"`
	Since     string               `json:"since"`
	Reason    string               `json:"reason"`
	At        string               `json:"at"`
	By        string               `json:"by"`
	Found     *plant.LookbackFound `json:"found"`
	Progress  *Progress            `json:"progress"`
	Touched   int                  `json:"touched"` // instruments
	Undecided int                  `json:"undecided"`
	Open      int                  `json:"open"`    // decided, but not closed
	Overdue   int                  `json:"overdue"` // of these
	Closed    bool                 `json:"closed"`  // nothing is left to do
}

// running returns the progress of each look-back. It is read before the records, so that what is
// finished by then is in them.
func (d *Desk) running() map[string]Progress {
	d.mu.Lock()
	defer d.mu.Unlock()
	now := map[string]Progress{}
	for id, p := range d.jobs {
		now[id] = *p
	}
	return now
}

func (d *Desk) row(l *plant.Lookback, names map[string]string, running map[string]Progress) LookbackRow {
	r := LookbackRow{
		ID: l.ID, Standard: l.Standard, Since: l.Question.Since, Reason: l.Question.Reason, At: l.At,
		By: office.Called(names, l.By), Found: l.Found, Touched: len(l.Affected),
	}
	if s, ok, err := d.store.Record(l.Standard); err == nil && ok {
		if v, err := plant.ReadStandard(s); err == nil {
			r.Name = strings.TrimSpace(v.Name + " " + v.Serial)
		}
	}
	if p, ok := running[l.ID]; ok {
		r.Progress = &p
	}
	for id := range l.Affected {
		decided, is := l.Decided[id]
		_, done := l.Closed[id]
		switch {
		case !is:
			r.Undecided++
		case !done:
			r.Open++
			if decided.Due != "" && decided.Due < d.today() {
				r.Overdue++
			}
		}
	}
	r.Closed = l.Found != nil && r.Undecided+r.Open == 0
	return r
}

// Lookbacks lists the look-backs: those with something left to do first, then the newest.
func (d *Desk) Lookbacks() ([]LookbackRow, error) {
	running := d.running()
	states, err := d.store.ByKind("lookback", "", 0)
	if err != nil {
		return nil, err
	}
	names, err := d.office.Names()
	if err != nil {
		return nil, err
	}
	list := []LookbackRow{}
	for _, s := range states {
		l, err := plant.ReadLookback(s)
		if err != nil && !office.Unreadable(err) {
			return nil, err
		}
		list = append(list, d.row(&l, names, running))
	}
	slices.SortFunc(list, func(a, b LookbackRow) int {
		rank := func(r *LookbackRow) int {
			if r.Closed {
				return 1
			}
			return 0
		}
		return cmp.Or(rank(&a)-rank(&b), strings.Compare(b.At, a.At), strings.Compare(a.ID, b.ID))
	})
	return list, nil
}

// openLookbacks counts the look-backs with something left to do, by standard.
func (d *Desk) openLookbacks() (map[string]int, error) {
	list, err := d.Lookbacks()
	if err != nil {
		return nil, err
	}
	open := map[string]int{}
	for _, l := range list {
		if !l.Closed {
			open[l.Standard]++
		}
	}
	return open, nil
}

// Touched is an instrument of a look-back with its decision.
type Touched struct {
	ID string `json:"id"`
	plant.LookbackItem
	Judged   []Judged `json:"runs"`    // its results, with how near they are to the limit
	Changed  bool     `json:"changed"` // one of its verdicts changes
	Failing  bool     `json:"failing"` // a result that did not fail would fail
	Fault    bool     `json:"fault"`   // a result cannot be calculated
	Way      string   `json:"way"`     // "" until it is decided
	Reason   string   `json:"reason"`
	Owner    string   `json:"owner"` // id
	Owned    string   `json:"owned"` // its name
	Due      string   `json:"due"`
	Overdue  bool     `json:"overdue"`
	By       string   `json:"by"`
	At       string   `json:"at"`
	Closed   bool     `json:"closed"`
	Note     string   `json:"note"`
	ClosedBy string   `json:"closed_by"`
	ClosedAt string   `json:"closed_at"`
}

// Judged is a result as it was and as it would be, with its largest error in whole per cent of the
// limit.
type Judged struct {
	plant.LookbackRun
	OfBefore string `json:"of_limit_before,omitempty"`
	OfAfter  string `json:"of_limit_after,omitempty"`
}

// LookbackView is a whole look-back.
type LookbackView struct {
	Row         LookbackRow            `json:"row"`
	Question    plant.LookbackQuestion `json:"question"`
	Instruments []Touched              `json:"instruments"`
	Unread      []plant.LookbackUnread `json:"unread"`
	People      []office.Colleague     `json:"people"`
}

// Lookback returns a look-back: the touched instruments, undecided ones and changed verdicts first.
//
// Refuses: plant.ErrNotFound, plant.ErrKind, plant.ErrValue.
func (d *Desk) Lookback(id string) (out LookbackView, err error) {
	running := d.running()
	l, err := d.lookback(id)
	if err != nil {
		return out, err
	}
	names, err := d.office.Names()
	if err != nil {
		return out, err
	}
	out.Row, out.Question = d.row(&l, names, running), l.Question
	out.Unread = append([]plant.LookbackUnread{}, l.Unread...)
	out.Instruments = []Touched{}
	for id, item := range l.Affected {
		out.Instruments = append(out.Instruments, d.touched(&l, id, item, names))
	}
	slices.SortFunc(out.Instruments, func(a, b Touched) int {
		return cmp.Or(a.rank()-b.rank(), strings.Compare(a.Tag, b.Tag), strings.Compare(a.ID, b.ID))
	})
	out.People, err = d.office.Colleagues()
	return out, err
}

func (d *Desk) touched(l *plant.Lookback, id string, item plant.LookbackItem, names map[string]string) Touched {
	t := Touched{ID: id, LookbackItem: item}
	for _, r := range item.Runs {
		t.Judged = append(t.Judged, Judged{r, percent(r.WorstBefore), percent(r.WorstAfter)})
		t.Fault = t.Fault || r.Fault != ""
		t.Changed = t.Changed || r.Fault == "" && r.Before != r.After
		t.Failing = t.Failing || r.Fault == "" && failed(r.After) && !failed(r.Before)
	}
	if one, ok := l.Decided[id]; ok {
		t.Way, t.Reason, t.Owner, t.Due = one.Way, one.Reason, one.Owner, one.Due
		t.By, t.At = office.Called(names, one.By), one.At
		if one.Owner != "" {
			t.Owned = office.Called(names, one.Owner)
		}
	}
	if one, ok := l.Closed[id]; ok {
		t.Closed, t.Note, t.ClosedBy, t.ClosedAt = true, one.Note, office.Called(names, one.By), one.At
	}
	t.Overdue = t.Way != "" && !t.Closed && t.Due != "" && t.Due < d.today()
	return t
}

// rank sorts by urgency: undecided before open before closed, and within these results that now
// fail, other changed verdicts, results that cannot be calculated, and the rest.
func (t *Touched) rank() int {
	n := 0
	switch {
	case t.Closed:
		n = 20
	case t.Way != "":
		n = 10
	}
	switch {
	case t.Failing:
	case t.Changed:
		n++
	case t.Fault:
		n += 2
	default:
		n += 3
	}
	return n
}

// Decide stores a decision for instruments of a look-back. A later decision replaces an earlier
// one, and reopens what was closed.
//
// Refuses: document.Fault with the field; plant.ErrNotFound; ErrAbove at a hub.
func (d *Desk) Decide(
	ctx context.Context, user, id string, instruments []string, x plant.LookbackDecision,
) error {
	x.Reason = strings.TrimSpace(x.Reason)
	if !slices.Contains(Ways, x.Way) {
		return document.Refuse(document.CodeRange, "way", "one of none, tell, recall and recalibrate is needed")
	}
	if x.Reason == "" || len(x.Reason) > maxNote {
		return document.Refuse(document.CodeMissing, "reason", "say why, in a few words")
	}
	names, err := d.office.Names()
	if err != nil {
		return err
	}
	if _, known := names[x.Owner]; !known && (x.Way != "none" || x.Owner != "") {
		return document.Refuse(document.CodeMissing, "owner", "say who sees to it")
	}
	if _, err := time.Parse(time.DateOnly, x.Due); err != nil && (x.Way != "none" || x.Due != "") {
		return document.Refuse(document.CodeMissing, "due", "say by which day it is done")
	}
	return d.say(ctx, user, id, instruments, func(l *plant.Lookback, one string) ([]plant.Set, error) {
		set := []plant.Set{{Field: "decision." + one, Value: x}}
		if _, closed := l.Closed[one]; closed {
			set = append(set, plant.Set{Field: "closed." + one, Value: nil})
		}
		return set, nil
	})
}

// Close records what was finally done about instruments.
//
// Refuses: ErrUndecided; document.Fault with the field; plant.ErrNotFound; ErrAbove at a hub.
func (d *Desk) Close(ctx context.Context, user, id string, instruments []string, note string) error {
	if note = strings.TrimSpace(note); note == "" || len(note) > maxNote {
		return document.Refuse(document.CodeMissing, "note", "say what was done, in a few words")
	}
	return d.say(ctx, user, id, instruments, func(l *plant.Lookback, one string) ([]plant.Set, error) {
		if _, decided := l.Decided[one]; !decided {
			return nil, ErrUndecided
		}
		return []plant.Set{{Field: "closed." + one, Value: plant.LookbackClosing{Note: note}}}, nil
	})
}

// say writes the same to several instruments of a look-back.
func (d *Desk) say(
	ctx context.Context, user, id string, instruments []string,
	one func(*plant.Lookback, string) ([]plant.Set, error),
) error {
	if d.office.IsHub() {
		return ErrAbove
	}
	if len(instruments) == 0 {
		return document.Refuse(document.CodeMissing, "instruments", "choose at least one")
	}
	_, err := d.office.Edit(ctx, user, func() (merge.State, []plant.Set, error) {
		s, err := d.office.Record(id)
		if err != nil {
			return s, nil, err
		}
		l, err := plant.ReadLookback(s)
		if err != nil {
			return s, nil, err
		}
		var set []plant.Set
		for _, instrument := range slices.Compact(slices.Sorted(slices.Values(instruments))) {
			if _, known := l.Affected[instrument]; !known {
				return s, nil, errors.Join(plant.ErrNotFound, errors.New(instrument))
			}
			more, err := one(&l, instrument)
			if err != nil {
				return s, nil, err
			}
			set = append(set, more...)
		}
		return s, set, nil
	})
	return err
}
