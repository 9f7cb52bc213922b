package holdings

import (
	"cmp"
	"encoding/json"
	"errors"
	"slices"
	"sync"
	"time"

	"gaugewright/server/auth"
	"gaugewright/server/office"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

const (
	// UsualWhole is up to how many bytes of changes a phone holds everything: those of a plant with
	// some 500 instruments after five years, of which a phone receives half.
	UsualWhole = 80_000_000
	// sampled is how many changes are sampled for their mean length.
	sampled = 64
	// daysAhead and daysBehind bound the rounds whose instruments a phone holds: those of a week,
	// and of the day before, since work may be finished late.
	daysAhead, daysBehind = 7, 1
	// roundsBehind is for how many past days a round itself is held.
	roundsBehind = 30
	// begunDays is for how long an unfinished visit is given to a new phone.
	begunDays = 30
	// maxPlanned bounds the planned units of a phone; the nearest days come first.
	maxPlanned = 600
)

// base are the kinds of which a phone holds all records of its sites, since any work needs them.
var base = []string{"site", "person", "method", "standard", "key"}

// Holdings knows the rounds, the visits in progress and the sites of instruments. It follows the
// journal, and reads nothing until a phone asks.
type Holdings struct {
	store *store.Store
	scope *office.Scope
	now   func() time.Time
	whole uint64

	sizing sync.Mutex
	mean   uint64 // mean bytes of a change
	at     uint64 // length of the journal when mean was taken

	mu     sync.Mutex
	loaded bool
	cursor uint64
	rounds map[string]round
	begun  map[string]visit
	units  map[string]string // the kind of each instrument and standard

	siting sync.Mutex          // held without mu, since it may take seconds
	sites  map[string][]string // the instruments of each site, in order of arrival
	sited  string              // the last instrument in sites
	known  Sites
}

// Sites returns the site of each instrument that somebody has read already, so that nobody reads
// a hundred thousand records for that; office.Office.Sites is one.
type Sites func() (map[string]string, error)

// New returns the holdings for a store's phones. scope says which runs of a unit a phone holds. Up
// to whole bytes of changes (0: UsualWhole) a phone holds everything.
func New(s *store.Store, scope *office.Scope, known Sites, now func() time.Time, whole uint64) *Holdings {
	return &Holdings{
		store: s, scope: scope, known: known, now: now, whole: cmp.Or(whole, UsualWhole),
		rounds: map[string]round{}, begun: map[string]visit{}, units: map[string]string{},
		sites: map[string][]string{},
	}
}

// Parts reports whether the plant is too large for a phone to hold all of it, judged by the length
// of its changes. A phone that holds a part keeps to that until the plant is half as large: the
// length is an estimate from a sample, and phones must not switch back and forth.
func (h *Holdings) Parts(holds bool) (bool, error) {
	last, err := h.store.Last()
	if err != nil || last == 0 {
		return false, err
	}
	h.sizing.Lock()
	defer h.sizing.Unlock()
	if last > h.at+h.at/16 || last < h.at {
		all, n := uint64(0), uint64(0)
		for i := range uint64(sampled) {
			list, _, err := h.store.Piece(i*last/sampled, store.Bounds{Changes: 1}, nil)
			if err != nil {
				return false, err
			}
			for k := range list {
				all, n = all+uint64(len(list[k].Change.Bytes())), n+1
			}
		}
		h.mean, h.at = all/max(n, 1), last
	}
	whole := h.whole
	if holds {
		whole /= 2
	}
	return h.mean*last > whole, nil
}

// mine reports whether a user receives records of a site; everybody receives those without one.
func mine(u *auth.User, site string) bool {
	return !u.Limited() || site == "" || slices.Contains(u.Sites, site)
}

// Planned returns the units that a user's phone needs in full without asking: those of work in
// progress, then those of the rounds of the coming days, the next day first.
func (h *Holdings) Planned(u auth.User) ([]string, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if err := h.follow(); err != nil {
		return nil, err
	}
	var list []string
	seen := map[string]bool{}
	add := func(id string) {
		if _, known := h.units[id]; known && !seen[id] && len(list) < maxPlanned {
			seen[id] = true
			list = append(list, id)
		}
	}
	for _, v := range h.begun {
		if v.person == u.ID {
			list = append(list, v.instrument)
		}
	}
	slices.Sort(list)
	begun := list
	list = nil
	for _, id := range begun {
		add(id)
	}
	from := h.now().AddDate(0, 0, -daysBehind).Format(time.DateOnly)
	to := h.now().AddDate(0, 0, daysAhead).Format(time.DateOnly)
	var days []round
	for _, r := range h.rounds {
		if r.of(u.ID) && mine(&u, r.site) && r.date >= from && r.date <= to {
			days = append(days, r)
		}
	}
	today := h.now().Format(time.DateOnly)
	slices.SortFunc(days, func(a, b round) int {
		// Past days come last: they are held for work that is finished late.
		if past := cmp.Compare(truth(a.date < today), truth(b.date < today)); past != 0 {
			return past
		}
		return cmp.Or(cmp.Compare(a.date, b.date), cmp.Compare(a.id, b.id))
	})
	for _, r := range days {
		for _, id := range r.stops {
			add(id)
		}
	}
	return list, nil
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Follows is what a phone receives of the journal's changes from its position on.
type Follows struct {
	// InScope reports whether the phone receives a change.
	InScope func(*change.Change) (bool, error)
	touched []string
	h       *Holdings
}

// Follow returns what a user's phone with these units receives. It receives no change of another
// instrument; for those that such changes touched, Entries returns what a search shows.
func (h *Holdings) Follow(u auth.User, held []string) (*Follows, error) {
	runs, err := h.scope.Of(u, h.now())
	if err != nil {
		return nil, err
	}
	h.mu.Lock()
	err = h.follow()
	h.mu.Unlock()
	if err != nil {
		return nil, err
	}
	units := make(map[string]bool, len(held))
	for _, id := range held {
		units[id] = true
	}
	f := &Follows{h: h}
	seen := map[string]bool{}
	f.InScope = func(c *change.Change) (bool, error) {
		switch {
		case !mine(&u, c.Site):
			return false, nil
		case slices.Contains(base, c.Kind):
			return true, nil
		case c.Kind == "round":
			return h.ever(c, u.ID)
		case c.Kind == "instrument":
			if !units[c.Record] && !seen[c.Record] {
				seen[c.Record] = true
				f.touched = append(f.touched, c.Record)
			}
			return units[c.Record], nil
		}
		unit, err := h.unitOf(c.Kind, c.Parent)
		if err != nil || !units[unit] && !h.standard(unit) {
			return false, err
		}
		return runs(c)
	}
	return f, nil
}

// Entries returns what a search shows of the instruments whose changes were left out.
func (f *Follows) Entries() ([][]byte, error) { return f.h.entries(f.touched) }

// ever reports whether a round is or was a person's: whoever no longer has it must hear of it.
func (h *Holdings) ever(c *change.Change, person string) (bool, error) {
	h.mu.Lock()
	r, known := h.rounds[c.Record]
	h.mu.Unlock()
	if known && r.of(person) {
		return true, nil
	}
	history, err := h.store.History(c.Record)
	if err != nil {
		return false, err
	}
	for i := range history {
		for _, set := range history[i].Change.Set {
			var text string
			if set.Field == "person" && json.Unmarshal(set.Value, &text) == nil && (text == person || text == "") {
				return true, nil
			}
		}
	}
	return false, nil
}

func (h *Holdings) standard(id string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.units[id] == "standard"
}

// unitOf returns the unit of a record from its kind and parent; "" if it belongs to none, or its
// visit is missing.
func (h *Holdings) unitOf(kind, parent string) (string, error) {
	switch kind {
	case "visit", "result":
		return parent, nil
	case "run", "certificate":
		s, ok, err := h.store.Record(parent)
		if errors.Is(err, store.ErrDamaged) || err == nil && !ok {
			return "", nil
		}
		return s.Parent, err
	}
	return "", nil
}

// Unit returns the unit that a record belongs to if the user may have it, else "". The text of a
// label also identifies its instrument.
func (h *Holdings) Unit(u auth.User, id string) (string, error) {
	s, ok, err := h.store.Record(id)
	if errors.Is(err, store.ErrDamaged) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	if !ok {
		found, err := h.store.Lookup("instrument", "label", id)
		if err != nil || len(found) == 0 {
			return "", err
		}
		s = found[0]
	}
	if !mine(&u, s.Site) {
		return "", nil
	}
	if s.Kind == "instrument" || s.Kind == "standard" {
		return s.ID, nil
	}
	return h.unitOf(s.Kind, s.Parent)
}

// readable reads a record if the user may have it and it can be read.
func (h *Holdings) readable(u *auth.User, id string) (s merge.State, ok bool, err error) {
	s, ok, err = h.store.Record(id)
	if errors.Is(err, store.ErrDamaged) {
		return s, false, nil
	}
	return s, ok && err == nil && mine(u, s.Site), err
}
