package demo

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"gaugewright/calc"
	"gaugewright/calc/document"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Options say what to invent. The same options give the same changes.
type Options struct {
	Seed        uint64
	Today       time.Time                                        // the day of the rounds: its date in its own time zone
	Instruments int                                              // 0: 240
	Years       int                                              // of visits before today; 0: 5
	Call        func(calculation string, document []byte) []byte // nil: calc.Call
	Base        string                                           // the address in the codes of certificates; "" for no codes
}

// Result says what was made.
type Result struct {
	People                             []Person
	Instruments, Visits, Runs, Changes int
	Failed, Adjusted, Waiting          int  // visits found out of limits, adjusted, and signed but not approved yet
	Certificates                       int  // of the newest approved visit of each instrument
	NoHistory                          bool // this build lacks the calculations expand and evaluate, so that no visit could be calculated
}

// Person is an invented person; the id of the record is meant to be the id of an account.
type Person struct {
	ID, Name, Initials, Role string
}

// ErrNotEmpty is returned when the store already has changes.
var ErrNotEmpty = errors.New("the data folder is not empty")

// maker holds what has been made so far.
type maker struct {
	Options
	rnd            *rand.Rand
	office, phones []*plant.Drafter // those of the reviewer and administrator, and of the technicians
	count          uint64
	changes        []change.Change
	result         Result
	sites, methods []merge.State
	standards      []reference
	gauges         []*gauge
	plans          map[string]json.RawMessage
	start          time.Time // six in the morning of today, UTC
	ids            *rand.ChaCha8
	draftIDs       *rand.ChaCha8 // of drafts of methods
	real           bool          // the calculations are those of this build
	hangar         hangar
	rack           rack
	noted          map[string]bool // certificates of standards that are in their records
	extra          []plant.Stop    // of other kinds of work, for the first technician's round
}

// Seed invents a plant with its past and writes it into an empty store.
//
// Refuses: ErrNotEmpty; a fault of the calculation expand or evaluate, in its own words.
func Seed(ctx context.Context, s *store.Store, o Options) (Result, error) {
	last, err := s.Last()
	if err != nil {
		return Result{}, err
	}
	if last > 0 {
		return Result{}, fmt.Errorf("%s: %w", s.Dir(), ErrNotEmpty)
	}
	m, err := invent(o)
	if err != nil {
		return Result{}, err
	}
	if err := add(ctx, s, m.changes); err != nil {
		return Result{}, err
	}
	papers, err := m.certify(s)
	if err != nil {
		return Result{}, err
	}
	m.result.Changes += len(papers)
	return m.result, add(ctx, s, papers)
}

func add(ctx context.Context, s *store.Store, list []change.Change) error {
	for piece := range slices.Chunk(list, 1000) {
		r, err := s.Add(ctx, piece)
		if err != nil {
			return err
		}
		for id, why := range r.Refused {
			return fmt.Errorf("change %s: %w", id, why)
		}
	}
	return nil
}

// Invent makes the changes of a plant without storing them, and without the certificates of its
// approved visits.
func Invent(o Options) ([]change.Change, Result, error) {
	m, err := invent(o)
	if err != nil {
		return nil, Result{}, err
	}
	return m.changes, m.result, nil
}

func invent(o Options) (*maker, error) {
	if o.Instruments == 0 {
		o.Instruments = 240
	}
	if o.Years == 0 {
		o.Years = 5
	}
	m := &maker{Options: o, plans: map[string]json.RawMessage{}, noted: map[string]bool{}}
	day := o.Today.Format(time.DateOnly)
	m.ids = rand.NewChaCha8(sha256.Sum256(fmt.Appendf(nil, "%d %s", o.Seed, day)))
	m.draftIDs = rand.NewChaCha8(sha256.Sum256(fmt.Appendf(nil, "%d %s drafts", o.Seed, day)))
	m.rnd = rand.New(m.ids)
	var err error
	if m.start, err = time.Parse(time.DateOnly, day); err != nil {
		return nil, err
	}
	m.start = m.start.Add(6 * time.Hour)
	if m.Call == nil {
		m.Call, m.real = calc.Call, true
		has := func(name string) bool {
			return slices.ContainsFunc(calc.Calculations(), func(d document.Calculation) bool { return d.Name == name })
		}
		m.result.NoHistory = !has("expand") || !has("evaluate")
	}
	for _, step := range []func() error{m.people, m.things, m.instruments, m.past, m.air, m.systems, m.lines, m.absolutes, m.rounds} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	m.result.Changes = len(m.changes)
	return m, nil
}

func (m *maker) id() string {
	id, _ := change.NewID(m.ids) // a generator of numbers never runs dry
	return id
}

// keep drafts a change with a drafter; all drafters have seen all earlier counts.
func (m *maker) keep(p *plant.Drafter, s merge.State, at time.Time, set ...plant.Set) (merge.State, error) {
	p.Count = m.count
	c, next, err := p.Edit(s, at, set...)
	if err != nil {
		return merge.State{}, err
	}
	m.count = c.Stamp.Count
	m.changes = append(m.changes, c)
	return next, nil
}

// people makes the persons and a device for each.
func (m *maker) people() error {
	founded := m.start.AddDate(-m.Years, -2, 0)
	for i, who := range staff {
		who.ID = m.id()
		p := &plant.Drafter{Device: m.id(), Author: who.ID, Random: m.ids}
		if i < technicians {
			m.phones = append(m.phones, p)
		} else {
			m.office = append(m.office, p)
		}
		m.result.People = append(m.result.People, who)
	}
	for _, who := range m.result.People {
		if _, err := m.keep(m.administrator(), merge.State{ID: who.ID, Kind: "person"}, founded,
			plant.Set{Field: "name", Value: who.Name}, plant.Set{Field: "initials", Value: who.Initials}, plant.Set{Field: "role", Value: who.Role}); err != nil {
			return err
		}
	}
	return nil
}

func (m *maker) administrator() *plant.Drafter { return m.office[1] }

func (m *maker) reviewer() *plant.Drafter { return m.office[0] }

// things makes the sites, methods and standards.
func (m *maker) things() error {
	founded := m.start.AddDate(-m.Years, -2, 0)
	for _, s := range sites {
		state, err := m.keep(
			m.administrator(), merge.State{ID: m.id(), Kind: "site"}, founded,
			plant.Set{Field: "code", Value: s.code}, plant.Set{Field: "name", Value: s.name},
		)
		if err != nil {
			return err
		}
		m.sites = append(m.sites, state)
	}
	for _, x := range methods {
		state, err := m.method(founded, x.name, "gauge", json.RawMessage(x.definition), x.cautions)
		if err != nil {
			return err
		}
		m.methods = append(m.methods, state)
	}
	for i := range standards {
		if err := m.reference(i, founded); err != nil {
			return err
		}
	}
	return nil
}

// rounds makes today's list of stops for each technician: the instruments at their sites that are
// due nearest to today, and that a standard serves.
func (m *maker) rounds() error {
	const stopsEach = 8
	today := m.start.Format(time.DateOnly)
	for t, person := range m.result.People[:technicians] {
		var mine []*gauge
		for _, g := range m.gauges {
			if g.technician == t && g.inService && !g.visitedLately {
				mine = append(mine, g)
			}
		}
		slices.SortStableFunc(mine, func(a, b *gauge) int { return a.due.Compare(b.due) })
		mine, err := m.served(mine, stopsEach)
		if err != nil {
			return err
		}
		// An ordinary gauge comes first on every day, since it is what people try first.
		if i := slices.IndexFunc(mine, (*gauge).ordinary); i > 0 {
			one := mine[i]
			mine = slices.Insert(slices.Delete(mine, i, i+1), 0, one)
		}
		var stops []plant.Stop
		for _, g := range mine[:min(stopsEach, len(mine))] {
			stops = append(stops, plant.Stop{Instrument: g.state.ID, Method: g.method})
		}
		if t == 0 {
			stops = append(stops, m.extra...)
		}
		if _, err := m.keep(m.reviewer(), merge.State{ID: m.id(), Kind: "round"}, m.start.Add(-14*time.Hour), plant.Set{Field: "date", Value: today},
			plant.Set{Field: "person", Value: person.ID}, plant.Set{
				Field: "title", Value: "Round of " + person.Name,
			}, plant.Set{Field: "stops", Value: stops}); err != nil {
			return err
		}
	}
	return nil
}

// ask calls a calculation and returns its answer, or its refusal as an error.
func (m *maker) ask(name string, doc []byte) (json.RawMessage, error) {
	reply := m.Call(name, doc)
	if bytes.HasPrefix(reply, []byte(`{"error":`)) {
		return nil, fmt.Errorf("calculation %s: %s; asked: %.600s", name, reply, doc)
	}
	return reply, nil
}
