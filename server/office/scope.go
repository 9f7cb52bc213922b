package office

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

const (
	// fullVisits is how many of an instrument's latest visits a phone holds with all their
	// readings; it holds a summary of the others.
	fullVisits = 2
	// fullDays is how long every visit is held in full, so that recent work stays within reach.
	fullDays = 30
	// maxFacts bounds the memory of the scope: some 40 MB.
	maxFacts = 200_000
)

// Scope says which runs a phone holds: those of an instrument's latest visits, of recent visits and
// of its user's own visits. Of all other records it holds everything.
type Scope struct {
	store  *store.Store
	mu     sync.Mutex
	seen   uint64 // the journal's entry up to which the facts are current
	visits map[string]visitFacts
	latest map[string][]string // by instrument: its latest visits
}

type visitFacts struct {
	instrument, started string
	persons             []string
}

// NewScope returns the scope of a store.
func NewScope(s *store.Store) *Scope {
	return &Scope{store: s, visits: map[string]visitFacts{}, latest: map[string][]string{}}
}

// ScopeName names the scope of some sites. Other sites have another name, so that a device knows
// when its scope has changed.
func ScopeName(sites []string) string {
	sites = slices.Sorted(slices.Values(sites))
	sum := sha256.Sum256([]byte(strings.Join(sites, " ")))
	return hex.EncodeToString(sum[:8])
}

// Of returns the scope of a user at a moment. A user with sites receives their records and those
// without a site.
func (s *Scope) Of(u auth.User, now time.Time) (func(*change.Change) (bool, error), error) {
	user := u.ID
	if err := s.refresh(); err != nil {
		return nil, err
	}
	recent := now.Add(-fullDays * 24 * time.Hour)
	return func(c *change.Change) (bool, error) {
		if u.Limited() && c.Site != "" && !slices.Contains(u.Sites, c.Site) {
			return false, nil
		}
		if c.Kind == "lookback" { // only the office's pages show it
			return u.Role == auth.Hub, nil
		}
		if c.Kind != "run" {
			return true, nil
		}
		s.mu.Lock()
		defer s.mu.Unlock()
		v, known, err := s.visit(c.Parent)
		if err != nil || !known {
			return err == nil, err // its visit has not arrived: rather too much than too little
		}
		if slices.Contains(v.persons, user) {
			return true, nil
		}
		if at, err := time.Parse(time.RFC3339, v.started); err != nil || at.After(recent) {
			return true, nil
		}
		latest, err := s.latestOf(v.instrument)
		return slices.Contains(latest, c.Parent), err
	}, nil
}

// refresh forgets the facts that newer changes of visits may have altered.
func (s *Scope) refresh() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.visits) == 0 || len(s.visits) > maxFacts {
		last, err := s.store.Last()
		s.visits, s.latest, s.seen = map[string]visitFacts{}, map[string][]string{}, last
		return err
	}
	_, last, err := s.store.Piece(s.seen, store.Bounds{}, func(c *change.Change) (bool, error) {
		if c.Kind == "visit" {
			delete(s.visits, c.Record)
			delete(s.latest, c.Parent)
		}
		return false, nil
	})
	if err == nil {
		s.seen = last
	}
	return err
}

func (s *Scope) visit(id string) (visitFacts, bool, error) {
	if v, ok := s.visits[id]; ok {
		return v, true, nil
	}
	state, ok, err := s.store.Record(id)
	if errors.Is(err, store.ErrDamaged) {
		return visitFacts{}, false, nil
	}
	if err != nil || !ok {
		return visitFacts{}, false, err
	}
	return s.keep(&state), true, nil
}

func (s *Scope) keep(state *merge.State) visitFacts {
	v := visitFacts{instrument: state.Parent}
	if b, ok := state.Value("started"); ok {
		v.started = textOf(b)
	}
	if f, ok := state.Field("person"); ok {
		for _, h := range f.Heads {
			v.persons = append(v.persons, textOf(h.Value))
		}
	}
	s.visits[state.ID] = v
	return v
}

func (s *Scope) latestOf(instrument string) ([]string, error) {
	if list, ok := s.latest[instrument]; ok {
		return list, nil
	}
	children, err := s.store.Children(instrument)
	if err != nil {
		return nil, err
	}
	var list []string
	for i := range children {
		if children[i].Kind == "visit" {
			s.keep(&children[i])
			list = append(list, children[i].ID)
		}
	}
	slices.SortStableFunc(
		list, func(a, b string) int { return strings.Compare(s.visits[b].started, s.visits[a].started) },
	)
	list = slices.Clone(list[:min(len(list), fullVisits)])
	s.latest[instrument] = list
	return list, nil
}
