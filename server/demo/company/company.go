package company

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"gaugewright/server/certificates"
	"gaugewright/server/demo"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// Options say how large a company to make. The same options give the same changes.
type Options struct {
	Seed        uint64
	Today       time.Time // the day of the rounds: its date in its own time zone
	Instruments int
	Sites       int // 0: one for each 2,500 instruments
	Years       int // of visits before today; 0: 5
	Models      int // invented gauges, of which the others are copies; 0: 600 at most
	// Progress is called after each piece with the number of changes and the finished part, from 0
	// to 1; it may be nil.
	Progress func(changes int, part float64)
}

// Person is a person of the company; the id of the record is meant to be the id of an account.
type Person struct {
	ID, Login, Name, Role string
	Sites                 []string // ids of the sites of a technician; none for the others
}

// Result says what was made.
type Result struct {
	People                                                       []Person
	Sites                                                        []string // ids
	Instruments, Standards, Visits, Runs, Captures, Certificates int
	Changes                                                      int
}

// person is a person with their device.
type person struct {
	id, name, device string
	sequence         uint64
}

// site is a plant of the company.
type site struct {
	id, code    string
	technicians []*person
	reviewer    *person
	first, next int // its instruments
	standards   scope
}

type maker struct {
	Options
	models        *models
	ids           *rand.ChaCha8
	sites         []site
	administrator *person
	count         uint64
	numbers       map[int]int             // certificates by year
	printed       map[int][]change.Change // of instruments whose certificate comes later
	out           chan []change.Change
	list          []change.Change
	result        Result
}

// perSite is how many instruments a site has by default, and perTechnician how many one of its
// technicians looks after.
const (
	perSite       = 2500
	perTechnician = 600
	usualModels   = 600
)

// Make invents a company and writes it into an empty store. That is quicker without fsync, since a
// half-made store is thrown away.
//
// Refuses: demo.ErrNotEmpty; options below 1; the first fault of a calculation.
func Make(ctx context.Context, s *store.Store, o Options) (Result, error) {
	last, err := s.Last()
	if err != nil {
		return Result{}, err
	}
	if last > 0 {
		return Result{}, fmt.Errorf("%s: %w", s.Dir(), demo.ErrNotEmpty)
	}
	if o.Instruments < 1 || o.Sites < 0 || o.Years < 0 || o.Models < 0 {
		return Result{}, fmt.Errorf("a company needs at least one instrument: %d instruments, %d sites, %d years, %d models",
			o.Instruments, o.Sites, o.Years, o.Models)
	}
	m := newMaker(o)
	if m.models, err = readModels(ctx, demo.Options{
		Seed: o.Seed, Today: o.Today, Instruments: m.Models, Years: m.Years,
	}); err != nil {
		return Result{}, err
	}
	if err := s.Private("office").Put("letterhead", m.models.head); err != nil {
		return Result{}, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	failed := make(chan error, 1)
	go func() {
		defer close(m.out)
		failed <- m.make(ctx)
	}()
	for list := range m.out {
		r, err := s.Add(ctx, list)
		if err != nil {
			return Result{}, err
		}
		for id, why := range r.Refused {
			return Result{}, fmt.Errorf("change %s: %w", id, why)
		}
	}
	return m.result, <-failed
}

func newMaker(o Options) *maker {
	if o.Sites == 0 {
		o.Sites = max(1, o.Instruments/perSite)
	}
	if o.Years == 0 {
		o.Years = 5
	}
	if o.Models == 0 {
		o.Models = min(o.Instruments, usualModels)
	}
	seed := sha256.Sum256(fmt.Appendf(nil, "company %d %s", o.Seed, o.Today.Format(time.DateOnly)))
	return &maker{
		Options: o, ids: rand.NewChaCha8(seed), numbers: map[int]int{}, printed: map[int][]change.Change{},
		out: make(chan []change.Change, 2),
	}
}

// make makes everything year by year, so that records arrive in their real order.
func (m *maker) make(ctx context.Context) error {
	founded := m.Today.UTC().Truncate(24*time.Hour).AddDate(-m.Years, -3, 0)
	if err := m.found(ctx, founded); err != nil {
		return err
	}
	for year := founded.Year(); year <= m.Today.Year()+1; year++ {
		for i := range m.sites {
			s := &m.sites[i]
			for n := s.first; n < s.next; n++ {
				if err := m.copy(ctx, s, n, year); err != nil {
					return err
				}
			}
			if m.Progress != nil {
				part := float64(year-founded.Year()) + float64(i+1)/float64(len(m.sites))
				m.Progress(m.result.Changes, part/float64(m.Today.Year()+2-founded.Year()))
			}
		}
	}
	for i := range m.sites {
		if err := m.rounds(ctx, &m.sites[i]); err != nil {
			return err
		}
	}
	return m.hand(ctx)
}

func (m *maker) id() string {
	id, _ := change.NewID(m.ids) // a generator of numbers never runs dry
	return id
}

func (m *maker) scope() (s scope) {
	binary.BigEndian.PutUint64(s[:], m.ids.Uint64())
	return s
}

// together is how many changes are handed to the store at once.
const together = 2000

// keep gives a change its device's number and its stamp, and stores it.
func (m *maker) keep(ctx context.Context, p *person, at int64, c *change.Change) error {
	p.sequence++
	c.Device, c.Author, c.Seq = p.device, p.id, p.sequence
	c.Stamp = clock.Next(m.count, at, c.Device)
	m.count = c.Stamp.Count
	m.list = append(m.list, *c)
	m.result.Changes++
	if len(m.list) < together {
		return nil
	}
	return m.hand(ctx)
}

func (m *maker) hand(ctx context.Context) error {
	select {
	case m.out <- m.list:
		m.list = make([]change.Change, 0, together)
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// write drafts the first change of a record that is no copy.
func (m *maker) write(ctx context.Context, p *person, s merge.State, at time.Time, set ...plant.Set) error {
	c := change.Change{ID: m.id(), Wall: plant.Stamp(at), Record: s.ID, Kind: s.Kind, Site: s.Site, Parent: s.Parent}
	for _, x := range set {
		b, err := plant.Canonical(x.Value)
		if err != nil {
			return err
		}
		c.Set = append(c.Set, change.Setting{Field: x.Field, Value: b, Sees: []string{}})
	}
	return m.keep(ctx, p, at.UnixMilli(), &c)
}

// hire makes a person for an account.
func (m *maker) hire(ctx context.Context, role, site string, at time.Time) (*person, error) {
	first, last := nameOf(len(m.result.People))
	p := &person{id: m.id(), name: first + " " + last, device: m.id()}
	one := Person{ID: p.id, Login: strings.ToLower(first + "." + last), Name: p.name, Role: role}
	if role == "technician" {
		one.Sites = []string{site}
	}
	m.result.People = append(m.result.People, one)
	if m.administrator == nil {
		m.administrator = p
	}
	return p, m.write(ctx, m.administrator, merge.State{ID: p.id, Kind: "person"}, at,
		plant.Set{Field: "name", Value: p.name}, plant.Set{Field: "initials", Value: first[:1] + last[:1]},
		plant.Set{Field: "role", Value: role})
}

// found makes the people, the methods and the sites with their standards.
func (m *maker) found(ctx context.Context, at time.Time) error {
	if _, err := m.hire(ctx, "administrator", "", at); err != nil {
		return err
	}
	for i := range m.Sites {
		code, name := siteOf(i)
		s := site{
			id: m.id(), code: code, standards: m.scope(), first: i * m.Instruments / m.Sites,
			next: (i + 1) * m.Instruments / m.Sites,
		}
		m.result.Sites = append(m.result.Sites, s.id)
		if err := m.write(ctx, m.administrator, merge.State{ID: s.id, Kind: "site"}, at,
			plant.Set{Field: "code", Value: code}, plant.Set{Field: "name", Value: name}); err != nil {
			return err
		}
		var err error
		if s.reviewer, err = m.hire(ctx, "reviewer", s.id, at); err != nil {
			return err
		}
		for range max(2, (s.next-s.first)/perTechnician) {
			one, err := m.hire(ctx, "technician", s.id, at)
			if err != nil {
				return err
			}
			s.technicians = append(s.technicians, one)
		}
		known := map[string]bool{}
		for k := range m.models.standards {
			d := &m.models.standards[k]
			p := m.place(&s, s.first)
			c := p.change(d)
			for f := range c.Set {
				if c.Set[f].Field == "serial" {
					c.Set[f].Value = append(append(c.Set[f].Value[:len(c.Set[f].Value)-1], "-"+code...), '"')
				}
			}
			if !known[c.Record] {
				known[c.Record] = true
				m.result.Standards++
			}
			if err := m.keep(ctx, p.who(&d.author), d.at, &c); err != nil {
				return err
			}
		}
		m.sites = append(m.sites, s)
	}
	return m.methods(ctx, at)
}

// methods makes the methods: the administrator drafts them, and the reviewer of the first site puts
// them into force.
func (m *maker) methods(ctx context.Context, at time.Time) error {
	for i := range m.models.methods {
		c := m.models.methods[i]
		by := m.administrator
		if plant.PutsInForce(&c) {
			by = m.sites[0].reviewer
		}
		c.Set = slices.Clone(c.Set)
		for k := range c.Set {
			x := &c.Set[k]
			x.Field = strings.ReplaceAll(x.Field, m.models.administrator, m.administrator.id)
			x.Value = bytes.ReplaceAll(x.Value, []byte(m.models.administrator), []byte(m.administrator.id))
		}
		if err := m.keep(ctx, by, at.UnixMilli(), &c); err != nil {
			return err
		}
	}
	return nil
}

// place says where the nth instrument is.
func (m *maker) place(s *site, n int) place {
	p := place{
		site: s.id, standards: s.standards, reviewer: s.reviewer, administrator: m.administrator,
		technician: s.technicians[n%len(s.technicians)], tag: s.code + "-", serial: fmt.Sprint(100_000 + n),
		area: fmt.Sprint(" ", 1+(n-s.first)/100%8),
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "company %d instrument %d", m.Seed, n))
	copy(p.own[:], sum[:])
	p.number = fmt.Sprintf("%05d", n-s.first+1)
	return p
}

func (m *maker) model(n int) *model { return &m.models.list[n%len(m.models.list)] }

// copy makes a year of the nth instrument.
func (m *maker) copy(ctx context.Context, s *site, n, year int) error {
	model, p := m.model(n), m.place(s, n)
	for i := range model.drafts {
		d := &model.drafts[i]
		if d.year != year {
			continue
		}
		c := p.change(d)
		switch d.kind {
		case "instrument":
			if d.first {
				m.result.Instruments++
			}
		case "visit":
			if d.first {
				m.result.Visits++
			}
		case "run":
			if d.first {
				m.result.Runs++
			}
		case "certificate":
			if err := m.certify(&c, n, year); err != nil {
				return err
			}
		}
		m.result.Captures += d.captures
		if err := m.keep(ctx, p.who(&d.author), d.at, &c); err != nil {
			return err
		}
		if d.printed {
			m.printed[n] = append(m.printed[n], c)
		}
	}
	return nil
}

// certify gives a certificate the number and the fingerprint of this copy.
func (m *maker) certify(c *change.Change, n, year int) error {
	states := map[string]merge.State{}
	for _, one := range m.printed[n] {
		s, err := merge.Apply(states[one.Record], one)
		if err != nil {
			return err
		}
		states[one.Record] = s
	}
	delete(m.printed, n)
	var runs []merge.State
	for id, s := range states {
		if id != c.Parent {
			runs = append(runs, s)
		}
	}
	m.numbers[year]++
	for i := range c.Set {
		text := ""
		switch c.Set[i].Field {
		case "number":
			text = fmt.Sprintf("%d-%05d", year, m.numbers[year])
		case "fingerprint":
			text = certificates.Fingerprint(states[c.Parent], runs)
		default:
			continue
		}
		c.Set[i].Value, _ = json.Marshal(text)
	}
	m.result.Certificates++
	return nil
}

// stopsEach is how many instruments a round has, and roundDays how many days have one.
const (
	stopsEach = 10
	roundDays = 5
)

// rounds makes the rounds of a site's technicians from today on, with what is due first.
func (m *maker) rounds(ctx context.Context, s *site) error {
	today := m.Today.Format(time.DateOnly)
	for t, who := range s.technicians {
		var mine []int
		for n := s.first; n < s.next; n++ {
			if n%len(s.technicians) == t && m.model(n).due != "" {
				mine = append(mine, n)
			}
		}
		slices.SortStableFunc(mine, func(a, b int) int { return strings.Compare(m.model(a).due, m.model(b).due) })
		for day := range roundDays {
			var stops []plant.Stop
			for _, n := range mine[min(day*stopsEach, len(mine)):min((day+1)*stopsEach, len(mine))] {
				p := m.place(s, n)
				stops = append(stops, plant.Stop{Instrument: p.word(&m.model(n).drafts[0].record), Method: m.model(n).method})
			}
			if len(stops) == 0 {
				continue
			}
			date, err := time.Parse(time.DateOnly, today)
			if err != nil {
				return err
			}
			date = date.AddDate(0, 0, day)
			if err := m.write(ctx, s.reviewer, merge.State{ID: m.id(), Kind: "round", Site: s.id}, date.Add(-8*time.Hour),
				plant.Set{Field: "date", Value: date.Format(time.DateOnly)}, plant.Set{Field: "person", Value: who.id},
				plant.Set{Field: "title", Value: "Round of " + who.name}, plant.Set{Field: "stops", Value: stops}); err != nil {
				return err
			}
		}
	}
	return nil
}
